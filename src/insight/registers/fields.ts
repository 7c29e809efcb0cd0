/**
 * Raw registers to fields. The fields of a register follow from its row and value alone, and dumps
 * repeat registers, so recent ones are kept and shared: nothing here may be changed once it is made.
 */
import type { DecodedField, DecodedRegister } from '../../model/dump.ts';
import type { FieldRow, RegisterRow } from '../../standards/config-space/index.ts';

/** Values remembered for one register: enough for a machine, bounded for a stream of them. */
const REMEMBERED_MAX = 64;

/** Largest value of a field whose decoded forms are all kept. */
const NARROW_MAX = 255;

/** Places remembered for one value of a register: the lanes of a link, the functions of a device. */
const PLACES_MAX = 16;

/** A field of a register, ready to be taken out of it. */
export interface PreparedField {
  readonly row: FieldRow;
  readonly bits: string;
  readonly mask: number;
  /** By value, for narrow fields whose meaning needs no more than that. */
  readonly seen: (DecodedField | undefined)[] | undefined;
}

interface Prepared {
  readonly fields: readonly PreparedField[];
  /** Bits that no field claims. */
  readonly unclaimed: number;
  readonly recent: Map<number, Kept>;
}

/** Fields of a value, and registers that had it, few as they are. */
interface Kept {
  readonly fields: readonly DecodedField[];
  readonly registers: DecodedRegister[];
}

const prepared = new WeakMap<RegisterRow, Prepared>();

/** A register of `value` at `offset`; `instance` and `unused` as in the table. */
export function registerOf(
  row: RegisterRow,
  offset: number,
  value: number,
  instance: string | undefined,
  unused: string | undefined,
): DecodedRegister {
  const kept = keptOf(row, value);
  for (const known of kept.registers) {
    if (known.offset === offset && known.instance === instance && known.unused === unused) {
      return known;
    }
  }
  const register = made(row, offset, value, instance, unused, kept.fields);
  if (kept.registers.length < PLACES_MAX) kept.registers.push(register);
  return register;
}

/** Written out by case: spreading parts together takes longer than all the rest. */
function made(
  { name, bytes }: RegisterRow,
  offset: number,
  value: number,
  instance: string | undefined,
  unused: string | undefined,
  fields: readonly DecodedField[],
): DecodedRegister {
  if (unused !== undefined) {
    const which = instance === undefined ? undefined : { instance };
    return { name, ...which, offset, bytes, value, unused, fields };
  }
  if (instance !== undefined) return { name, instance, offset, bytes, value, fields };
  return { name, offset, bytes, value, fields };
}

function keptOf(row: RegisterRow, value: number): Kept {
  let ready = prepared.get(row);
  if (ready === undefined) {
    ready = { ...prepareFields(row), recent: new Map() };
    prepared.set(row, ready);
  }
  const known = ready.recent.get(value);
  if (known !== undefined) return known;
  const kept = { fields: decode(ready, value), registers: [] };
  if (ready.recent.size >= REMEMBERED_MAX) ready.recent.clear();
  ready.recent.set(value, kept);
  return kept;
}

/** The fields of a row with their masks, and the bits that none of them claims. */
export function prepareFields(row: RegisterRow): Pick<Prepared, 'fields' | 'unclaimed'> {
  let claimed = 0;
  const fields = row.fields.map((field) => {
    const { high, low } = field;
    const mask = high - low === 31 ? 0xffffffff : 2 ** (high - low + 1) - 1;
    claimed = (claimed | (mask << low)) >>> 0;
    const seen = mask <= NARROW_MAX && !field.whole ? [] : undefined;
    return { row: field, bits: high === low ? `${low}` : `${high}:${low}`, mask, seen };
  });
  const all = row.bytes === 4 ? 0xffffffff : 2 ** (8 * row.bytes) - 1;
  return { fields, unclaimed: (all & ~claimed) >>> 0 };
}

function decode(ready: Prepared, register: number): readonly DecodedField[] {
  const fields: DecodedField[] = ready.fields.map(({ row, bits, mask, seen }) => {
    const value = ((register >>> row.low) & mask) >>> 0;
    const known = seen?.[value];
    if (known !== undefined) return known;
    const field = { name: row.name, bits, value, meaning: row.meaning(value, register) };
    if (seen !== undefined) seen[value] = field;
    return field;
  });
  const rest = (register & ready.unclaimed) >>> 0;
  if (rest !== 0) fields.push(reservedBits(rest));
  return fields;
}

/** Bits that are set and have no meaning: shown, never dropped. */
export function reservedBits(rest: number): DecodedField {
  const high = 31 - Math.clz32(rest);
  const low = 31 - Math.clz32(rest & -rest);
  return {
    name: 'Reserved bits',
    bits: high === low ? `${low}` : `${high}:${low}`,
    value: rest >>> low,
    meaning: 'set, and reserved in the edition of the tables',
  };
}
