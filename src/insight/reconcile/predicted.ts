/** What is known of each point while points are reconciled. */
import { toNumber } from '../../quantity/index.ts';
import type { PointNetwork } from '../point-case.ts';
import type { MeasuredPoint } from '../points.ts';
import type { MeasuredRate } from './explain.ts';
import type { Prediction } from './predict.ts';

/** A point beside its network and its prediction. */
export interface PredictedPoint {
  readonly point: MeasuredPoint;
  readonly at: PointNetwork;
  readonly prediction: Prediction;
  /** Bytes per second. */
  readonly measured: MeasuredRate;
}

/** Seconds of one transfer as measured. */
export function measuredSeconds({ prediction, measured }: PredictedPoint): number {
  return prediction.bytes / measured.median;
}

/** Seconds of one transfer at expected values. */
export function expectedSeconds({ prediction }: PredictedPoint): number {
  return prediction.bytes / prediction.rates.expected;
}

/** Rates of a point's repeats as numbers. */
export function measuredRate({ spread }: MeasuredPoint): MeasuredRate {
  const { low, median, high, quartiles = [low, high] } = spread;
  return {
    low: toNumber(low),
    lower: toNumber(quartiles[0]),
    median: toNumber(median),
    upper: toNumber(quartiles[1]),
    high: toNumber(high),
  };
}

/** Root mean square of predicted / measured − 1, both times of one transfer. */
export function residualOf(ratios: readonly number[]): number {
  const sum = ratios.reduce((all, ratio) => all + (ratio - 1) * (ratio - 1), 0);
  return Math.sqrt(sum / ratios.length);
}
