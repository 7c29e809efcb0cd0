/** Synthetic configuration spaces that hold every field of every table in many of its values. */
import type { ConfigSpace } from '../../src/readers/dump/index.ts';
import type {
  FieldRow,
  FunctionFacts,
  PlacedRegisters,
  StructureRow,
  StructureView,
} from '../../src/standards/config-space/index.ts';

/** A field that an image sets, where, and to what. */
export interface SetField {
  readonly register: string;
  readonly instance?: string;
  readonly offset: number;
  readonly field: FieldRow;
  readonly value: number;
}

export interface Image {
  readonly bytes: Uint8Array;
  readonly fields: readonly SetField[];
}

/** Every value of a field of up to four bits; of wider ones both ends, the middle and single bits. */
export function valuesOf({ high, low }: FieldRow): readonly number[] {
  const bits = high - low + 1;
  if (bits <= 4) return Array.from({ length: 2 ** bits }, (_, i) => i);
  const most = 2 ** bits - 1;
  const single = Array.from({ length: bits }, (_, i) => 2 ** i);
  return [0, most, Math.floor(most / 2), most - 1, Math.floor(most / 3), ...single];
}

export function put(bytes: Uint8Array, offset: number, count: number, value: number): void {
  for (let i = 0; i < count; i += 1) bytes[offset + i] = Math.floor(value / 2 ** (8 * i)) % 256;
}

export function get(bytes: Uint8Array, offset: number, count: number): number {
  let value = 0;
  for (let i = count - 1; i >= 0; i -= 1) value = value * 256 + bytes[offset + i]!;
  return value;
}

function viewOf(bytes: Uint8Array, base: number, facts: FunctionFacts, version: number) {
  const view: StructureView = {
    u8: (at) => get(bytes, base + at, 1),
    u16: (at) => get(bytes, base + at, 2),
    u32: (at) => get(bytes, base + at, 4),
    facts,
    version,
  };
  return view;
}

/** Where a structure is put, and what is around it. */
export interface Setting {
  readonly base: number;
  readonly facts: FunctionFacts;
  readonly version: number;
  /** Fields that an image must not change, and their values: what leads to the structure. */
  readonly keep?: (register: string, field: string) => number | undefined;
}

/** Sets every field of `row` in `bytes`, each to one of its values; `turn` picks which. */
export function fill(bytes: Uint8Array, row: StructureRow, setting: Setting, turn: number): Image {
  const { base, facts, version, keep } = setting;
  const done = new Map<string, SetField>();
  // What is set may bring more registers, and they more: until nothing is new.
  for (let round = 0; round < 4; round += 1) {
    const before = done.size;
    const placed = row.layout?.(viewOf(bytes, base, facts, version)) ?? [];
    for (const group of placed) fillGroup(bytes, group, base, turn, done, keep);
    if (done.size === before) break;
  }
  return { bytes, fields: [...done.values()] };
}

/** Which value: all in turn, and flags by a hash, so that no two of them always change together. */
function pick(turn: number, index: number, offset: number, count: number): number {
  if (count > 2) return (turn + index * 7) % count;
  let mixed = Math.imul(turn + 1, 0x9e3779b1) ^ Math.imul(index + 1 + 37 * offset, 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 16), 0x7feb352d);
  mixed = Math.imul(mixed ^ (mixed >>> 15), 0x846ca68b);
  return ((mixed ^ (mixed >>> 16)) >>> 9) % count;
}

function fillGroup(
  bytes: Uint8Array,
  { rows, at, label }: PlacedRegisters,
  base: number,
  turn: number,
  done: Map<string, SetField>,
  keep: Setting['keep'],
): void {
  for (const row of rows) {
    const offset = base + at + row.offset;
    if (offset + row.bytes > bytes.length) continue;
    for (const [index, field] of row.fields.entries()) {
      const key = `${offset} ${row.name} ${field.name} ${field.low}`;
      if (done.has(key)) continue;
      const values = valuesOf(field);
      const chosen = values[pick(turn, index, row.offset, values.length)]!;
      const value = keep?.(row.name, field.name) ?? chosen;
      const register = get(bytes, offset, row.bytes);
      const unit = 2 ** field.low;
      const size = 2 ** (field.high - field.low + 1);
      const old = Math.floor(register / unit) % size;
      put(bytes, offset, row.bytes, register + (value - old) * unit);
      const instance = label === undefined ? undefined : { instance: label };
      done.set(key, { register: row.name, ...instance, offset, field, value });
    }
  }
}

/** A function with a header of type `type`, a PCI Express capability at 40h, and room for more. */
export function blank(type: 0 | 1, port: number, lanes: number): Uint8Array {
  const bytes = new Uint8Array(4096);
  put(bytes, 0x00, 4, 0x5678_1234);
  put(bytes, 0x06, 2, 0x0010);
  put(bytes, 0x08, 4, type === 0 ? 0xff00_0001 : 0x0604_0001);
  bytes[0x0e] = type;
  bytes[0x34] = 0x40;
  put(bytes, 0x40, 4, 0x10 | ((2 | (port << 4)) << 16));
  put(bytes, 0x4c, 4, 1 | (lanes << 4));
  put(bytes, 0x52, 2, 1 | (lanes << 4));
  return bytes;
}

/** The image as a function of a dump. */
export function spaceOf(bytes: Uint8Array, number: number): ConfigSpace {
  const address = {
    domain: Math.floor(number / 0x10000),
    bus: (number >> 8) & 0xff,
    device: (number >> 3) & 0x1f,
    fn: number & 7,
  };
  return { address, bytes, gaps: [], place: { file: 'made', line: 1, column: 1 } };
}

/** Rows as listings have them. */
export function listingOf(bytes: Uint8Array, heading: string): string {
  const hex = (value: number, digits: number) => value.toString(16).padStart(digits, '0');
  const lines = [heading];
  for (let at = 0; at < bytes.length; at += 16) {
    const row = [...bytes.subarray(at, at + 16)].map((b) => hex(b, 2)).join(' ');
    lines.push(`${hex(at, bytes.length > 256 ? 3 : 2)}: ${row}`);
  }
  return `${lines.join('\n')}\n`;
}
