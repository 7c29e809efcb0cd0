/** Further starts, spread over the bounds the same way every time. */
import type { FitParameter } from './problem.ts';

/** Bases of Halton's sequence (J. H. Halton, Numerische Mathematik 2, 1960), one a parameter. */
const primes = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37];

/** Digits of `index` in `base`, mirrored at the point: 0 to 1, never 0 from index 1 on. */
function mirroredDigits(index: number, base: number): number {
  let part = 1;
  let sum = 0;
  for (let left = index; left > 0; left = Math.floor(left / base)) {
    part /= base;
    sum += part * (left % base);
  }
  return sum;
}

/** low × (high/low)^part by halving the range: square roots round alike everywhere, powers do not. */
function geometric(low: number, high: number, part: number): number {
  let from = low;
  let to = high;
  let left = part;
  for (let half = 0; half < 20; half++) {
    const middle = Math.sqrt(from) * Math.sqrt(to);
    left *= 2;
    if (left >= 1) {
      from = middle;
      left -= 1;
    } else to = middle;
  }
  return from;
}

/**
 * `count` starts within the bounds. A parameter without two finite bounds is spread from a tenth
 * to ten times its start, or ±1 about a start of zero, cut to the bound it has.
 *
 * @throws RangeError for more than 12 parameters
 */
export function spreadStarts(parameters: readonly FitParameter[], count: number): number[][] {
  if (parameters.length > primes.length) {
    throw new RangeError(`starts are spread over at most ${primes.length} parameters`);
  }
  return Array.from({ length: count }, (_, index) =>
    parameters.map((parameter, j) => {
      const part = mirroredDigits(index + 1, primes[j]!);
      const { start, low = -Infinity, high = Infinity, spread } = parameter;
      if (Number.isFinite(low) && Number.isFinite(high)) {
        return spread === 'geometric' ? geometric(low, high, part) : low + part * (high - low);
      }
      const size = Math.abs(start);
      const value =
        size === 0 ? 2 * part - 1 : Math.sign(start) * geometric(size / 10, size * 10, part);
      return Math.min(high, Math.max(low, value));
    }),
  );
}
