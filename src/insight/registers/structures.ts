/** Structures to registers, by the tables. */
import type {
  DecodedRegister,
  DecodedStructure,
  StructureKind,
  VendorBytes,
} from '../../model/dump.ts';
import type {
  FunctionFacts,
  PlacedRegisters,
  RegisterRow,
  StructureRow,
  StructureView,
} from '../../standards/config-space/index.ts';
import type { SpaceBytes } from './bytes.ts';
import { registerOf } from './fields.ts';
import type { Listed } from './lists.ts';
import { at, type FunctionNotes } from './notes.ts';

/** The four bytes that begin an extended capability, and the two of others, as tables. */
const heads: Readonly<Record<'capability' | 'extended capability', RegisterRow>> = {
  capability: {
    name: 'Capability Header',
    offset: 0,
    bytes: 2,
    fields: [named('Capability ID', 7, 0), named('Next Capability Pointer', 15, 8)],
  },
  'extended capability': {
    name: 'Extended Capability Header',
    offset: 0,
    bytes: 4,
    fields: [
      named('PCI Express Extended Capability ID', 15, 0),
      named('Capability Version', 19, 16),
      named('Next Capability Offset', 31, 20),
    ],
  },
};

function named(name: string, high: number, low: number) {
  const meaning = (v: number) => at(v);
  return { name, high, low, kind: 'identifier' as const, whole: false, meaning };
}

/** Reads relative to `base`. */
function viewAt(
  bytes: SpaceBytes,
  base: number,
  facts: FunctionFacts,
  version: number,
): StructureView {
  return {
    u8: (offset) => bytes.u8(base + offset),
    u16: (offset) => bytes.u16(base + offset),
    u32: (offset) => bytes.u32(base + offset),
    facts,
    version,
  };
}

/** Registers of a header. */
export function decodeHeader(
  bytes: SpaceBytes,
  row: StructureRow,
  facts: FunctionFacts,
): DecodedStructure {
  const registers: DecodedRegister[] = [];
  for (const placed of row.layout?.(viewAt(bytes, 0, facts, 0)) ?? []) {
    putAll(bytes, placed, 0, registers);
  }
  registers.sort((a, b) => a.offset - b.offset);
  const { id, name, document, clause, basis } = row;
  return {
    kind: 'header',
    id,
    name,
    offset: 0,
    known: 'fields',
    document,
    clause,
    basis,
    registers,
  };
}

/** What is around a capability. */
export interface Surroundings {
  readonly facts: FunctionFacts;
  readonly notes: FunctionNotes;
  /** Offset of the structure that follows in memory; the end of the space for the last. */
  readonly follower: number;
}

/** Registers of a capability; `row` is absent for an ID that no table has. */
export function decodeCapability(
  bytes: SpaceBytes,
  listed: Listed,
  kind: Exclude<StructureKind, 'header'>,
  row: StructureRow | undefined,
  around: Surroundings,
): DecodedStructure {
  const { offset, id, version, next } = listed;
  const extended = kind === 'extended capability';
  const registers: DecodedRegister[] = [];
  putAll(bytes, { rows: [heads[kind]], at: 0 }, offset, registers);
  const layout = row?.layout;
  if (layout !== undefined) {
    const limit = extended ? 0x1000 : 0x100;
    for (const placed of layout(viewAt(bytes, offset, around.facts, version))) {
      putAll(bytes, placed, offset, registers, limit);
    }
    checkExtent(row!, registers, listed, around, extended ? 0x1000 : 0x100);
  }
  const body = vendorBytes(bytes, listed, extended);
  return {
    kind,
    id,
    name: row?.name ?? 'unknown',
    ...(extended && { version }),
    offset,
    next,
    known: row === undefined ? 'none' : layout === undefined ? 'name' : 'fields',
    ...(row !== undefined && { document: row.document, clause: row.clause, basis: row.basis }),
    registers,
    ...(body !== undefined && { vendorBytes: body }),
  };
}

function putAll(
  bytes: SpaceBytes,
  { rows, at: shift, label, unused }: PlacedRegisters,
  base: number,
  registers: DecodedRegister[],
  limit = 0x1000,
): void {
  for (const row of rows) {
    const offset = base + shift + row.offset;
    // A structure that says it is longer than its space: registers outside do not exist.
    if (offset + row.bytes > limit) continue;
    if (bytes.has(offset, row.bytes)) {
      registers.push(registerOf(row, offset, bytes.read(offset, row.bytes), label, unused));
    } else {
      registers.push({
        name: row.name,
        ...(label !== undefined && { instance: label }),
        offset,
        bytes: row.bytes,
        ...(unused !== undefined && { unused }),
        fields: [],
      });
    }
  }
}

/** Says where a structure reaches into the next one, or past the end of the dump. */
function checkExtent(
  row: StructureRow,
  registers: readonly DecodedRegister[],
  { offset }: Listed,
  { notes, follower }: Surroundings,
  limit: number,
): void {
  let end = offset;
  let missing: DecodedRegister | undefined;
  for (const r of registers) {
    if (r.unused !== undefined) continue;
    end = Math.max(end, r.offset + r.bytes);
    if (r.value === undefined) missing ??= r;
  }
  if (end > follower && follower < limit) {
    notes.say(
      'registers-overlap',
      `${row.name} at ${at(offset)} reaches to ${at(end - 1)}, over the structure at ${at(follower)}`,
      'take what both claim with care: one of the two is shorter than its edition says',
      'caution',
    );
  }
  if (missing !== undefined) {
    notes.say(
      'registers-structure-cut',
      `${row.name} at ${at(offset)}: ${missing.name} at ${at(missing.offset)} is not in the dump`,
      'dump all bytes of the function',
    );
  }
}

/** Bodies whose length the structure itself states. */
function vendorBytes(
  bytes: SpaceBytes,
  { offset, id }: Listed,
  extended: boolean,
): VendorBytes | undefined {
  const [head, length] = extended
    ? id === 0x000b
      ? [8, bytes.u32(offset + 4) >>> 20]
      : id === 0x0023
        ? [10, bytes.u32(offset + 4) >>> 20]
        : [0, 0]
    : id === 0x09
      ? [3, bytes.u8(offset + 2)]
      : [0, 0];
  const end = Math.min(offset + length, extended ? 0x1000 : 0x100);
  const from = offset + head;
  return end <= from ? undefined : { offset: from, hex: bytes.hex(from, end - from) };
}
