/** How a measured rate stands to a prediction. */
import type { RateRange } from '../../model/answer.ts';
import type { Standing } from '../../model/reconcile.ts';
import { type MeasuredRate, NEAR } from './explain.ts';

/**
 * Within, when the middle half of the repeats overlaps the predicted range, or their median is within a
 * hundredth of it; impossible as stated, when even the slowest of the repeats is above the ceiling.
 */
export function standingOf(
  { low, lower, median, upper }: MeasuredRate,
  predicted: RateRange,
  ceiling: number,
): Standing {
  if (low > ceiling) return 'impossible as stated';
  if (Math.max(upper, median * (1 + NEAR)) < predicted.low) return 'below expectation';
  if (Math.min(lower, median * (1 - NEAR)) > predicted.high) return 'above expectation';
  return 'within';
}
