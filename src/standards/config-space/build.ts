/** Words to write tables with: one function a kind of field. */
import type { Basis } from '../../model/basis.ts';
import type { FieldKind, FieldRow, PlacedRegisters, RegisterRow } from './types.ts';

/** Highest and lowest bit of a field. */
export type Bits = readonly [high: number, low: number];

/** Words for a bit that is 0, and for one that is 1. */
export type Words = readonly [clear: string, set: string];

export const yes: Words = ['no', 'yes'];
export const supported: Words = ['not supported', 'supported'];
export const enabled: Words = ['disabled', 'enabled'];
/** Status bits: an event that was seen, until software clears it. */
export const seen: Words = ['clear', 'set'];
/** Error mask bits. */
export const masked: Words = ['reported', 'masked'];
/** Error severity bits. */
export const severity: Words = ['non-fatal', 'fatal'];

function field(
  name: string,
  [high, low]: Bits,
  kind: FieldKind,
  meaning: (value: number, register: number) => string,
  whole = false,
): FieldRow {
  return { name, high, low, kind, meaning, whole };
}

/** One bit. */
export function flag(name: string, bit: number, words: Words = yes): FieldRow {
  return field(name, [bit, bit], 'flag', (v) => words[v]!);
}

/** Several flags in a row of bits, by bit number. */
export function flags(bits: Readonly<Record<number, string>>, words: Words): FieldRow[] {
  return Object.entries(bits).map(([bit, name]) => flag(name, Number(bit), words));
}

/** Encodings by value; a value without one is reserved. */
export function coded(
  name: string,
  bits: Bits,
  words: readonly (string | undefined)[] | Readonly<Record<number, string>>,
): FieldRow {
  const list = words as Readonly<Record<number, string | undefined>>;
  return field(name, bits, 'enum', (v) => list[v] ?? `reserved encoding ${v}`);
}

/** A count, `plus` added to the value, with its unit. */
export function count(name: string, bits: Bits, unit = '', plus = 0): FieldRow {
  const tail = unit === '' ? '' : ` ${unit}`;
  return field(name, bits, 'number', (v) => `${v + plus}${tail}`);
}

/** `first` × 2^value, up to `most`; larger values are reserved. */
export function power(
  name: string,
  bits: Bits,
  first: number,
  unit: string,
  most = Number.POSITIVE_INFINITY,
): FieldRow {
  const tail = unit === '' ? '' : ` ${unit}`;
  return field(name, bits, 'log2', (v) => {
    const size = first * 2 ** v;
    return size > most ? `reserved encoding ${v}` : `${size}${tail}`;
  });
}

/** A number that is an identifier or a pattern: meant in hexadecimal. */
export function hex(name: string, bits: Bits): FieldRow {
  const digits = Math.ceil((bits[0] - bits[1] + 1) / 4);
  return field(name, bits, 'identifier', (v) => hexOf(v, digits));
}

/** Bits of an address, in their place: lower bits read as 0. `up` moves them further up. */
export function address(name: string, bits: Bits, up = 0): FieldRow {
  return field(name, bits, 'address', (v) => hexOf(v * 2 ** (bits[1] + up), 1));
}

/** One bit an item, from the lowest bit of the field. */
export function vector(name: string, bits: Bits, items: readonly string[]): FieldRow {
  return field(name, bits, 'vector', (v) => itemsOf(v, items));
}

/** One bit a lane, function or the like: the numbers whose bit is set. */
export function numbers(name: string, bits: Bits, first = 0): FieldRow {
  return field(name, bits, 'vector', (v) => {
    const set: number[] = [];
    for (let i = 0; i <= bits[0] - bits[1]; i += 1) if (((v >>> i) & 1) === 1) set.push(first + i);
    return set.length === 0 ? 'none' : set.join(', ');
  });
}

/** A field whose meaning takes the whole register. */
export function scaled(
  name: string,
  bits: Bits,
  meaning: (value: number, register: number) => string,
  kind: FieldKind = 'number',
): FieldRow {
  return field(name, bits, kind, meaning, true);
}

/** A field with words of its own. */
export function worded(
  name: string,
  bits: Bits,
  kind: FieldKind,
  meaning: (value: number) => string,
): FieldRow {
  return field(name, bits, kind, meaning);
}

/** The same field on another basis than its structure's. */
export function on(basis: Basis, row: FieldRow): FieldRow {
  return { ...row, basis };
}

/** A register. Fields are put in order of their bits. */
export function register(
  name: string,
  offset: number,
  bytes: 1 | 2 | 3 | 4,
  fields: readonly FieldRow[],
  clause?: string,
): RegisterRow {
  const sorted = [...fields].sort((a, b) => a.low - b.low);
  return { name, offset, bytes, fields: sorted, ...(clause !== undefined && { clause }) };
}

/** A register that is one identifier or pattern throughout. */
export function plain(name: string, offset: number, bytes: 1 | 2 | 3 | 4): RegisterRow {
  return register(name, offset, bytes, [hex(name, [8 * bytes - 1, 0])]);
}

/** Registers once, at their own offsets. */
export function once(rows: readonly RegisterRow[], unused?: string): PlacedRegisters {
  return { rows, at: 0, ...(unused !== undefined && { unused }) };
}

/** The layout of a structure that never differs. */
export function fixed(rows: readonly RegisterRow[]): () => readonly PlacedRegisters[] {
  const placed = [once(rows)];
  return () => placed;
}

/** The same registers `times`, `step` bytes apart from `at`, labelled `word 0`, `word 1` … */
export function repeated(
  rows: readonly RegisterRow[],
  word: string,
  times: number,
  at: number,
  step: number,
): PlacedRegisters[] {
  return Array.from({ length: times }, (_, i) => ({
    rows,
    at: at + i * step,
    label: `${word} ${i}`,
  }));
}

/** `value` as 0x with at least `digits` digits. */
export function hexOf(value: number, digits: number): string {
  return `0x${value.toString(16).padStart(digits, '0')}`;
}

function itemsOf(value: number, items: readonly string[]): string {
  const set = items.filter((_, i) => ((value >>> i) & 1) === 1);
  const rest = value >>> items.length;
  if (items.length < 32 && rest !== 0) set.push(`reserved bits ${hexOf(rest, 1)}`);
  return set.length === 0 ? 'none' : set.join(', ');
}

/** Requester ID as bus:device.function. */
export function requesterId(name: string, bits: Bits): FieldRow {
  return worded(name, bits, 'identifier', (v) => {
    const two = (n: number) => n.toString(16).padStart(2, '0');
    return `${two(v >> 8)}:${two((v >> 3) & 0x1f)}.${v & 7}`;
  });
}

/** Bits `high:low` of a raw register. */
export function bitsOf(register: number, high: number, low: number): number {
  return Math.floor(register / 2 ** low) % 2 ** (high - low + 1);
}
