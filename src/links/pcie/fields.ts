/**
 * Packet layouts as data. A layout is a list of fields in the order of transmission, most
 * significant bit of each byte first; sizes, encoder and decoder all read the same lists, so a byte
 * count is never typed twice.
 */
import type { AccountId } from '../../model/accounts.ts';

/** One field of a packet as the standard draws it, before it is given an account. */
export interface FieldShape {
  /** Name as the standard spells it; `R` is a reserved field: sent as zero, ignored on receipt. */
  readonly name: string;
  /** Width, 1 to 32 bits. */
  readonly bits: number;
  /** Clause of the PCI Express Base Specification, Revision 6.3. */
  readonly clause: string;
  /** Value that the standard fixes for this packet; absent where the sender chooses. */
  readonly fixed?: number;
}

/** A field with the ledger account that its bits are charged to. */
export interface Field extends FieldShape {
  readonly account: AccountId;
}

/** Values by field name. Fields absent from it are sent as zero. */
export type FieldValues = Readonly<Record<string, number>>;

/** Whole bytes by ledger account; accounts with nothing are absent. */
export type AccountBytes = { readonly [account in AccountId]?: number };

/** A fixed field whose received value differs from the standard's. */
export interface FixedMismatch {
  readonly name: string;
  readonly byteOffset: number;
  readonly expected: number;
  readonly got: number;
}

/** Name of every reserved field. */
export const reserved = 'R';

/** Gives every field of a shape the same account. */
export function charged(account: AccountId, shapes: readonly FieldShape[]): readonly Field[] {
  return shapes.map((shape) => ({ ...shape, account }));
}

/** Width of a layout, bits. */
export function bitLength(fields: readonly FieldShape[]): number {
  return fields.reduce((sum, field) => sum + field.bits, 0);
}

/**
 * Width of a layout, bytes.
 * @throws RangeError when the fields do not fill whole bytes (a mistake in a layout).
 */
export function byteLength(fields: readonly FieldShape[]): number {
  const bits = bitLength(fields);
  if (bits % 8 !== 0) throw new RangeError(`layout: expected whole bytes, got ${bits} bits`);
  return bits / 8;
}

/**
 * Bytes of a layout by account.
 * @throws RangeError when one account's fields do not make whole bytes (a mistake in a layout).
 */
export function bytesByAccount(fields: readonly Field[]): AccountBytes {
  const bytes: { [account in AccountId]?: number } = {};
  for (const account of new Set(fields.map((field) => field.account))) {
    bytes[account] = byteLength(fields.filter((field) => field.account === account));
  }
  return bytes;
}

function fieldValue(field: FieldShape, values: FieldValues): number {
  const asked = values[field.name];
  const value = field.fixed ?? asked ?? 0;
  if (field.fixed !== undefined && asked !== undefined && asked !== field.fixed) {
    throw new RangeError(`${field.name}: expected ${field.fixed} (${field.clause}), got ${asked}`);
  }
  const largest = 2 ** field.bits - 1;
  if (!Number.isInteger(value) || value < 0 || value > largest) {
    throw new RangeError(`${field.name}: expected an integer 0 to ${largest}, got ${value}`);
  }
  return value;
}

/**
 * Packs values into bytes.
 * @throws RangeError for a value outside its field, against a fixed value, or for no field at all.
 */
export function packFields(fields: readonly FieldShape[], values: FieldValues): Uint8Array {
  const names = new Set(fields.map((field) => field.name));
  for (const name of Object.keys(values)) {
    if (!names.has(name) || name === reserved) {
      throw new RangeError(`${name}: expected a field of the packet (${[...names].join(', ')})`);
    }
  }
  const bytes = new Uint8Array(byteLength(fields));
  let at = 0;
  for (const field of fields) {
    const value = fieldValue(field, values);
    for (let bit = field.bits - 1; bit >= 0; bit -= 1, at += 1) {
      const index = at >> 3;
      bytes[index] = bytes[index]! | (((value >>> bit) & 1) << (7 - (at & 7)));
    }
  }
  return bytes;
}

/**
 * Reads the fields of a layout from `offset`. Reserved fields are skipped, as receivers must.
 * @returns the values by name, and each fixed field that came with another value.
 * @throws RangeError when fewer bytes are left than the layout needs.
 */
export function unpackFields(
  fields: readonly FieldShape[],
  bytes: Uint8Array,
  offset = 0,
): { readonly values: FieldValues; readonly mismatches: readonly FixedMismatch[] } {
  const needed = byteLength(fields);
  if (bytes.length - offset < needed) {
    throw new RangeError(`layout: expected ${needed} bytes, got ${bytes.length - offset}`);
  }
  const values: Record<string, number> = {};
  const mismatches: FixedMismatch[] = [];
  let at = offset * 8;
  for (const { name, bits, fixed } of fields) {
    const byteOffset = at >> 3;
    let got = 0;
    for (let bit = 0; bit < bits; bit += 1, at += 1) {
      got = ((got << 1) | ((bytes[at >> 3]! >>> (7 - (at & 7))) & 1)) >>> 0;
    }
    if (name === reserved) continue;
    values[name] = got;
    if (fixed !== undefined && got !== fixed) {
      mismatches.push({ name, byteOffset, expected: fixed, got });
    }
  }
  return { values, mismatches };
}
