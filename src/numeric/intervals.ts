/** Confidence intervals over independent replications of a random figure. */
import { studentQuantile } from './student.ts';

/** A mean, and the interval that holds the true one with the asked confidence. */
export interface MeanInterval {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Student's interval for the mean of independent values of nearly normal distribution, mean ± t
 * √(s²/n) with n − 1 degrees of freedom. The values are added in the order given, so the same list
 * gives the same bits.
 *
 * @param values at least two, each a mean over one replication
 * @param confidence chance that the interval holds the true mean, 0.9 when absent
 * @throws RangeError for fewer than two values, or one that is not finite
 */
export function meanInterval(values: readonly number[], confidence = 0.9): MeanInterval {
  const count = values.length;
  if (count < 2) throw new RangeError(`an interval needs at least two values, got ${count}`);
  let sum = 0;
  for (const value of values) {
    if (!Number.isFinite(value)) throw new RangeError(`values must be finite, got ${value}`);
    sum += value;
  }
  const mean = sum / count;
  let squares = 0;
  for (const value of values) squares += (value - mean) * (value - mean);
  const half = studentQuantile(confidence, count - 1) * Math.sqrt(squares / (count - 1) / count);
  return { mean, low: mean - half, high: mean + half };
}
