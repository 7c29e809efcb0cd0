/**
 * Structures to registers, by the tables: first which registers there are and what they hold, then
 * what that means. Whoever only writes text needs no objects of the second step.
 */
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

/** A register at its place. */
export interface PlacedRegister {
  readonly row: RegisterRow;
  /** From the beginning of the configuration space. */
  readonly offset: number;
  /** Unsigned; undefined where the dump does not hold all of it. */
  readonly value: number | undefined;
  readonly instance: string | undefined;
  readonly unused: string | undefined;
}

/** A structure with its registers, which have no fields yet; see `DecodedStructure`. */
export interface PlacedStructure {
  readonly kind: StructureKind;
  readonly id: number;
  /** 0 for all but extended capabilities. */
  readonly version: number;
  readonly offset: number;
  /** Undefined for headers. */
  readonly next: number | undefined;
  /** Undefined for an ID that no table has. */
  readonly table: StructureRow | undefined;
  readonly registers: readonly PlacedRegister[];
  readonly vendorBytes: VendorBytes | undefined;
}

/** All of a structure that stands in front of its registers, key by key in that order. */
export function structureHead(
  placed: PlacedStructure,
): Omit<DecodedStructure, 'registers' | 'vendorBytes'> {
  const { kind, id, version, offset, next, table } = placed;
  const known = table === undefined ? 'none' : table.layout === undefined ? 'name' : 'fields';
  return {
    kind,
    id,
    name: table?.name ?? 'unknown',
    ...(kind === 'extended capability' && { version }),
    offset,
    ...(next !== undefined && { next }),
    known: kind === 'header' ? 'fields' : known,
    ...(table !== undefined && {
      document: table.document,
      clause: table.clause,
      basis: table.basis,
    }),
  };
}

/** The second step: the same structure with the fields of its registers. */
export function decodeStructure(placed: PlacedStructure): DecodedStructure {
  const { registers, vendorBytes } = placed;
  return {
    ...structureHead(placed),
    registers: registers.map(decodeRegister),
    ...(vendorBytes !== undefined && { vendorBytes }),
  };
}

function decodeRegister(placed: PlacedRegister): DecodedRegister {
  const { row, offset, value, instance, unused } = placed;
  if (value !== undefined) return registerOf(row, offset, value, instance, unused);
  return {
    name: row.name,
    ...(instance !== undefined && { instance }),
    offset,
    bytes: row.bytes,
    ...(unused !== undefined && { unused }),
    fields: [],
  };
}

/** Registers of a header. */
export function placeHeader(
  bytes: SpaceBytes,
  table: StructureRow,
  facts: FunctionFacts,
): PlacedStructure {
  const registers: PlacedRegister[] = [];
  for (const placed of table.layout?.(viewAt(bytes, 0, facts, 0)) ?? []) {
    putAll(bytes, placed, 0, registers);
  }
  registers.sort((a, b) => a.offset - b.offset);
  const [next, vendorBytes] = [undefined, undefined];
  return {
    kind: 'header',
    id: table.id,
    version: 0,
    offset: 0,
    next,
    table,
    registers,
    vendorBytes,
  };
}

/** What is around a capability. */
export interface Surroundings {
  readonly facts: FunctionFacts;
  readonly notes: FunctionNotes;
  /** Offset of the structure that follows in memory; the end of the space for the last. */
  readonly follower: number;
}

/** Registers of a capability; `table` is absent for an ID that no table has. */
export function placeCapability(
  bytes: SpaceBytes,
  listed: Listed,
  kind: Exclude<StructureKind, 'header'>,
  table: StructureRow | undefined,
  around: Surroundings,
): PlacedStructure {
  const { offset, id, version, next } = listed;
  const extended = kind === 'extended capability';
  const registers: PlacedRegister[] = [];
  putAll(bytes, { rows: [heads[kind]], at: 0 }, offset, registers);
  if (table?.layout !== undefined) {
    const limit = extended ? 0x1000 : 0x100;
    for (const placed of table.layout(viewAt(bytes, offset, around.facts, version))) {
      putAll(bytes, placed, offset, registers, limit);
    }
    checkExtent(table, registers, listed, around, limit);
  }
  const body = vendorBytes(bytes, listed, extended);
  return { kind, id, version, offset, next, table, registers, vendorBytes: body };
}

function putAll(
  bytes: SpaceBytes,
  { rows, at: shift, label, unused }: PlacedRegisters,
  base: number,
  registers: PlacedRegister[],
  limit = 0x1000,
): void {
  for (const row of rows) {
    const offset = base + shift + row.offset;
    // A structure that says it is longer than its space: registers outside do not exist.
    if (offset + row.bytes > limit) continue;
    const value = bytes.has(offset, row.bytes) ? bytes.read(offset, row.bytes) : undefined;
    registers.push({ row, offset, value, instance: label, unused });
  }
}

/** Says where a structure reaches into the next one, or past the end of the dump. */
function checkExtent(
  row: StructureRow,
  registers: readonly PlacedRegister[],
  { offset }: Listed,
  { notes, follower }: Surroundings,
  limit: number,
): void {
  let end = offset;
  let missing: PlacedRegister | undefined;
  for (const r of registers) {
    if (r.unused !== undefined) continue;
    end = Math.max(end, r.offset + r.row.bytes);
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
      `${row.name} at ${at(offset)}: ${missing.row.name} at ${at(missing.offset)} is not in the dump`,
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
