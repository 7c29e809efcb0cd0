/** What a fit says of quantities that depend on its parameters, and what measuring next would add. */
import { studentQuantile } from '../student.ts';
import type { Fit } from './fit.ts';
import { type Jacobian, jacobianAt } from './jacobian.ts';
import { covarianceOf, withObservation } from './precision.ts';
import type { Model, ReadyProblem } from './problem.ts';

/** A predicted quantity. */
export interface Prediction {
  readonly value: number;
  /** Standard error from the parameters alone; infinite when the data do not settle it. */
  readonly standardError: number;
  /** Interval of the fit's confidence for the quantity itself. */
  readonly low: number;
  readonly high: number;
  /** Interval for one more observation of it, with the scatter of its weight. */
  readonly observedLow: number;
  readonly observedHigh: number;
}

function slopesAt(fit: Fit, model: Model): { values: readonly number[]; slopes: Jacobian } {
  const values = model(fit.values);
  if (!values.every(Number.isFinite))
    throw new RangeError('a prediction at the fit must be finite');
  const count = fit.names.length;
  const problem: ReadyProblem = {
    names: fit.names,
    start: fit.values,
    low: fit.values.map((v, j) => (fit.bounds[j] === 'low' ? v : -Infinity)),
    high: fit.values.map((v, j) => (fit.bounds[j] === 'high' ? v : Infinity)),
    typical: fit.sizes,
    steps: new Array<undefined>(count).fill(undefined),
    observed: values,
    rootWeights: values.map(() => 1),
    model,
    slopes: undefined,
  };
  const slopes = jacobianAt(
    problem,
    fit.values,
    values.map(() => 0),
    'fine',
  );
  if (!slopes) throw new RangeError('predictions must be finite near the fit');
  return { values, slopes };
}

function scatter(fit: Fit): number {
  if (fit.deviation === undefined) {
    throw new RangeError('a fit without degrees of freedom predicts no interval');
  }
  return fit.deviation;
}

/**
 * Predicts quantities with their intervals, to first order in the parameters (the delta method).
 * A parameter held on a bound counts as known.
 *
 * @param model the quantities at given parameter values
 * @param weights weight of one more observation of each, 1 when absent; above zero
 * @throws RangeError for a fit without degrees of freedom, or quantities that are not finite there
 */
export function predict(fit: Fit, model: Model, weights?: readonly number[]): Prediction[] {
  const deviation = scatter(fit);
  const { values, slopes } = slopesAt(fit, model);
  const quantile = studentQuantile(fit.confidence, fit.degrees);
  return values.map((value, i) => {
    const variance = covarianceOf(fit.precision, deviation * deviation, slopes[i]!);
    const one = (deviation * deviation) / (weights?.[i] ?? 1);
    const half = quantile * Math.sqrt(variance);
    const wide = quantile * Math.sqrt(variance + one);
    return {
      value,
      standardError: Math.sqrt(variance),
      low: value - half,
      high: value + half,
      observedLow: value - wide,
      observedHigh: value + wide,
    };
  });
}

/**
 * Standard error that a target would have after one more observation, for each candidate; to first
 * order, with scatter and parameters as they are now. The least of them is the one to measure next.
 *
 * @param target the quantity to be known better: a model of one value
 * @param candidates predicted value of each observation that could be made
 * @param weights weight that each would have, 1 when absent
 * @throws RangeError as `predict`
 */
export function errorAfter(
  fit: Fit,
  target: Model,
  candidates: Model,
  weights?: readonly number[],
): number[] {
  const deviation = scatter(fit);
  const aim = slopesAt(fit, target).slopes[0]!;
  return slopesAt(fit, candidates).slopes.map((row, i) => {
    const root = Math.sqrt(weights?.[i] ?? 1);
    const after = withObservation(
      fit.precision,
      row.map((slope) => slope * root),
    );
    return Math.sqrt(covarianceOf(after, deviation * deviation, aim));
  });
}
