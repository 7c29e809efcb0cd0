/**
 * How good predictions with ranges are: errors, coverage, widths and the score that weighs both.
 */
import { median } from './results.ts';

/** A transfer that no fit saw; rates in bytes per second. */
export interface Outcome {
  readonly name: string;
  readonly measured: number;
  readonly expected: number;
  /** Absent where no range can be given honestly. */
  readonly range?: { readonly low: number; readonly high: number };
}

/** Of many outcomes. Widths and scores are relative to the measured rate. */
export interface Scores {
  readonly points: number;
  readonly median: number;
  readonly worst: number;
  readonly ranges?: {
    /** Share of measured rates inside. */
    readonly inside: number;
    /** Mean of high − low. */
    readonly width: number;
    /** Mean interval score. */
    readonly score: number;
  };
}

/** Share of outcomes that a range of 90 % may miss. */
const alpha = 0.1;

/**
 * The interval score of one range: its width, and 2/α times the distance by which it misses, so
 * that the true 90 % range has the least expected score (T. Gneiting and A. E. Raftery, Strictly
 * Proper Scoring Rules, Prediction, and Estimation, JASA 102 (2007), equation 43). Relative to
 * `measured`.
 */
export function intervalScore(low: number, high: number, measured: number): number {
  const missed = Math.max(0, low - measured) + Math.max(0, measured - high);
  return (high - low + (2 / alpha) * missed) / measured;
}

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;

/** @throws RangeError of no outcomes */
export function scoresOf(outcomes: readonly Outcome[]): Scores {
  const errors = outcomes.map(({ expected, measured }) => Math.abs(expected / measured - 1));
  const ranged = outcomes.flatMap(({ range, measured }) => (range ? [{ ...range, measured }] : []));
  return {
    points: outcomes.length,
    median: median(errors),
    worst: Math.max(...errors),
    ...(ranged.length === outcomes.length && {
      ranges: {
        inside: mean(
          ranged.map(({ low, high, measured }) => +(low <= measured && measured <= high)),
        ),
        width: mean(ranged.map(({ low, high, measured }) => (high - low) / measured)),
        score: mean(ranged.map(({ low, high, measured }) => intervalScore(low, high, measured))),
      },
    }),
  };
}
