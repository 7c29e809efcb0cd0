/** Gathers repeats: rows alike in all but what was measured. Everything stays exact. */
import {
  add,
  compare,
  div,
  exactQuantity,
  floor,
  mul,
  type Quantity,
  type Rational,
  rational,
  sub,
} from '../quantity/index.ts';
import type { FlowDirection, RepeatGroup, Spread, TimingRow } from './types.ts';

/** Groups in the order of their first row, and the rows that cannot be grouped yet. */
export interface Grouped {
  readonly groups: readonly RepeatGroup[];
  readonly unsettledRows: number;
}

/** Groups the rows in which size, direction and what was measured are settled. */
export function groupRepeats(rows: readonly TimingRow[]): Grouped {
  const members = new Map<string, number[]>();
  let unsettledRows = 0;
  rows.forEach((row, index) => {
    if (!isSettled(row)) {
      unsettledRows += 1;
      return;
    }
    const key = groupKey(row);
    const group = members.get(key);
    if (group === undefined) members.set(key, [index]);
    else group.push(index);
  });
  return { groups: [...members.values()].map((indexes) => groupOf(rows, indexes)), unsettledRows };
}

function isSettled({ size, direction, time, rate }: TimingRow): boolean {
  const values = [size, time, rate].every((v) => v === undefined || v.quantity !== undefined);
  return values && (direction === undefined || direction.value !== undefined);
}

/** A rate that was stated and one worked out from a time are no repeats of one measurement. */
function groupKey(row: TimingRow): string {
  const { size, direction, settings, conditions, transfers, rate } = row;
  const stated = rate !== undefined;
  const value = ({ expected }: Quantity) => `${expected.n}/${expected.d}`;
  const plain = Object.entries(settings).map(([name, setting]) => [
    name,
    typeof setting === 'object' ? value(setting) : setting,
  ]);
  plain.sort(([a], [b]) => (String(a) < String(b) ? -1 : 1));
  const other = Object.entries(conditions);
  return JSON.stringify([value(size.quantity!), direction?.value, plain, other, transfers, stated]);
}

function groupOf(rows: readonly TimingRow[], indexes: readonly number[]): RepeatGroup {
  const first = rows[indexes[0]!]!;
  const rates: Rational[] = [];
  const times: Rational[] = [];
  for (const index of indexes) {
    const { size, time, rate } = rows[index]!;
    if (time !== undefined) times.push(time.quantity!.expected);
    const stated = rate?.quantity?.expected;
    rates.push(stated ?? div(size.quantity!.expected, time!.quantity!.expected));
  }
  const direction: FlowDirection | undefined = first.direction?.value;
  return {
    size: first.size.quantity!,
    ...(direction && { direction }),
    settings: first.settings,
    conditions: first.conditions,
    rows: indexes,
    rate: spreadOf(rates, 'data rate'),
    ...(times.length > 0 && { time: spreadOf(times, 'time') }),
  };
}

/**
 * Least, quartiles, median and greatest. The p-quantile of n ordered values lies at (n − 1)p from
 * the first, by linear interpolation (definition 7 of Hyndman and Fan, "Sample quantiles in
 * statistical packages", The American Statistician 50 (1996) 361-365).
 * @throws RangeError when there is no value.
 */
export function spreadOf(values: readonly Rational[], dimension: 'data rate' | 'time'): Spread {
  if (values.length === 0) throw new RangeError('expected at least one value; got none');
  const sorted = [...values].sort(compare);
  const at = (quarters: number): Quantity => {
    const position = rational((sorted.length - 1) * quarters, 4);
    const below = floor(position);
    const rest = sub(position, rational(below));
    const low = sorted[Number(below)]!;
    const high = sorted[Math.min(Number(below) + 1, sorted.length - 1)]!;
    return exactQuantity(dimension, add(low, mul(rest, sub(high, low))));
  };
  return {
    count: sorted.length,
    low: at(0),
    lowerQuartile: at(1),
    median: at(2),
    upperQuartile: at(3),
    high: at(4),
  };
}
