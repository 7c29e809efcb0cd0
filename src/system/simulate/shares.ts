import { gcd, lcm } from '../../numeric/gcd.ts';
import type { Rational } from '../../quantity/index.ts';

/** Largest weight: a packet's bytes times it stay far within 2^53. */
const largest = 2n ** 31n;

/**
 * What one byte of each stream takes of its share: in the inverse proportion of what the streams need,
 * whole numbers. Needs whose ratio takes more than 31 bits are rounded.
 */
export function costPerByte(wanted: readonly Rational[]): number[] {
  const common = wanted.reduce((all, { n }) => lcm(all, n), 1n);
  const inverse = wanted.map(({ n, d }) => (common / n) * d);
  const divisor = inverse.reduce((g, value) => gcd(g, value), 0n);
  const most = greatest(inverse) / divisor;
  return inverse.map((value) => {
    const whole = value / divisor;
    if (most <= largest) return Number(whole);
    const scaled = (whole * largest) / most;
    return Number(scaled > 0n ? scaled : 1n);
  });
}

/** The greatest of some positive numbers; 0 of none. */
export function greatest(values: readonly bigint[]): bigint {
  let most = 0n;
  for (const value of values) if (value > most) most = value;
  return most;
}
