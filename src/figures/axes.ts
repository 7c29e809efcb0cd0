/** Axes for sizes and rates: round sizes at powers of two, one prefix for a whole axis of rates. */
import { formatSize } from '../quantity/index.ts';

/** A unit and what one of it is in bytes a second. */
export interface RateUnit {
  readonly symbol: 'B/s' | 'kB/s' | 'MB/s' | 'GB/s';
  readonly factor: number;
}

const units: readonly RateUnit[] = [
  { symbol: 'GB/s', factor: 1e9 },
  { symbol: 'MB/s', factor: 1e6 },
  { symbol: 'kB/s', factor: 1e3 },
  { symbol: 'B/s', factor: 1 },
];

/** The unit in which the greatest of the rates, bytes a second, is a number from 1 to 10 000. */
export function rateUnit(rates: readonly number[]): RateUnit {
  const greatest = Math.max(0, ...rates);
  // Four digits of MB/s are how the trade writes rates; GB/s only begins where they run out.
  return units.find((u) => greatest >= (u.symbol === 'GB/s' ? 10 : 1) * u.factor) ?? units.at(-1)!;
}

/** Powers of two that part the range, at most `most` of them, the ends inside. */
export function sizeTicks(least: number, greatest: number, most = 9): readonly number[] {
  const powers: number[] = [];
  for (let p = 1; p <= greatest; p *= 2) if (p >= least) powers.push(p);
  const step = Math.ceil(powers.length / most);
  return powers.filter((_, i) => i % step === 0);
}

/**
 * Refuses numbers that no chart can place: the plotting library would leave such points out unsaid.
 * @throws RangeError naming what is not finite
 */
export function requireFinite(what: string, values: readonly (number | undefined)[]): void {
  const bad = values.find((v) => v !== undefined && !Number.isFinite(v));
  if (bad !== undefined) throw new RangeError(`${what}: ${bad} is not a finite number`);
}

/** Margins and the axis of transfer sizes, bytes, of every chart by size; one size alone gets room. */
export function bySize(least: number, most: number) {
  return {
    marginLeft: 58,
    marginRight: 16,
    marginTop: 24,
    marginBottom: 44,
    x: {
      type: 'log',
      base: 2,
      domain: least === most ? [least / 2, most * 2] : [least, most],
      ticks: [...sizeTicks(least, most)],
      tickFormat: (size: number) => formatSize(size),
      label: 'transfer size',
      labelAnchor: 'center',
      labelArrow: 'none',
    },
  } as const;
}
