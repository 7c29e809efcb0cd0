/**
 * Raw registers to fields. The fields of a register follow from its row and value alone, and dumps
 * repeat values, so those of recent values are kept.
 */
import type { DecodedField } from '../../model/dump.ts';
import type { FieldRow, RegisterRow } from '../../standards/config-space/index.ts';

/** Values remembered for one register: enough for a machine, bounded for a stream of them. */
const REMEMBERED_MAX = 64;

interface Prepared {
  readonly fields: readonly {
    readonly row: FieldRow;
    readonly bits: string;
    readonly mask: number;
  }[];
  /** Bits that no field claims. */
  readonly unclaimed: number;
  readonly recent: Map<number, readonly DecodedField[]>;
}

const prepared = new WeakMap<RegisterRow, Prepared>();

/** Fields of a register of `value`, from bit 0 upwards. Shared between calls: not to be changed. */
export function fieldsOf(row: RegisterRow, value: number): readonly DecodedField[] {
  let ready = prepared.get(row);
  if (ready === undefined) {
    ready = prepare(row);
    prepared.set(row, ready);
  }
  const known = ready.recent.get(value);
  if (known !== undefined) return known;
  const fields = decode(ready, value);
  if (ready.recent.size >= REMEMBERED_MAX) ready.recent.clear();
  ready.recent.set(value, fields);
  return fields;
}

function prepare(row: RegisterRow): Prepared {
  let claimed = 0;
  const fields = row.fields.map((field) => {
    const { high, low } = field;
    const mask = high - low === 31 ? 0xffffffff : 2 ** (high - low + 1) - 1;
    claimed = (claimed | (mask << low)) >>> 0;
    return { row: field, bits: high === low ? `${low}` : `${high}:${low}`, mask };
  });
  const all = row.bytes === 4 ? 0xffffffff : 2 ** (8 * row.bytes) - 1;
  return { fields, unclaimed: (all & ~claimed) >>> 0, recent: new Map() };
}

function decode(ready: Prepared, register: number): readonly DecodedField[] {
  const fields: DecodedField[] = ready.fields.map(({ row, bits, mask }) => {
    const value = ((register >>> row.low) & mask) >>> 0;
    return { name: row.name, bits, value, meaning: row.meaning(value, register) };
  });
  const rest = (register & ready.unclaimed) >>> 0;
  if (rest !== 0) fields.push(reserved(rest));
  return fields;
}

/** Bits that are set and have no meaning: shown, never dropped. */
function reserved(rest: number): DecodedField {
  const high = 31 - Math.clz32(rest);
  const low = 31 - Math.clz32(rest & -rest);
  return {
    name: 'Reserved bits',
    bits: high === low ? `${low}` : `${high}:${low}`,
    value: rest >>> low,
    meaning: 'set, and reserved in the edition of the tables',
  };
}
