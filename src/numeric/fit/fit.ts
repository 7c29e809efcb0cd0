/**
 * Weighted, bounded, optionally robust non-linear least squares from one start or several, with
 * what the minimum says of the parameters.
 *
 * @example Fit y = a·x / (x + b) to five points
 * const result = leastSquares({
 *   parameters: [{ name: 'a', start: 1 }, { name: 'b', start: 1, low: 0 }],
 *   observed: [0.33, 0.5, 0.66, 0.8, 0.89],
 *   model: ([a, b]) => [1, 2, 4, 8, 16].map((x) => (a * x) / (x + b)),
 * });
 * if (result.found) console.log(result.values, result.intervals);
 */
import { studentQuantile } from '../student.ts';
import { type Descent, descend, isMinimum, type Stop } from './descent.ts';
import { audible, type Jacobian, jacobianAt } from './jacobian.ts';
import { pullSlope, pullWeight, type ScaledLoss, scaleFrom, settled } from './loss.ts';
import {
  covarianceOf,
  type Direction,
  directionsOf,
  type Precision,
  precisionOf,
} from './precision.ts';
import {
  counted,
  type FitOptions,
  type LeastSquaresProblem,
  type ReadyProblem,
  ready,
} from './problem.ts';
import { spreadStarts } from './starts.ts';

/** How one start ended. */
export interface StartReport {
  readonly start: readonly number[];
  readonly stop: Stop;
  readonly values: readonly number[];
  /** Sum of squares or of the robust loss; infinite where the model gave nothing. */
  readonly cost: number;
  readonly steps: number;
}

/** A minimum. Lists have one entry a parameter, or one an observation, in the problem's order. */
export interface Fit {
  readonly found: true;
  readonly stop: Stop;
  readonly message: string;
  readonly names: readonly string[];
  readonly values: readonly number[];
  /** The bound a parameter ended on: it was held there, and the others stand under that condition. */
  readonly bounds: readonly ('low' | 'high' | undefined)[];
  /** Observed minus predicted. */
  readonly residuals: readonly number[];
  /** Weighted sum of squares, or of the robust loss. */
  readonly cost: number;
  readonly loss: ScaledLoss;
  /** Observations of weight above zero, less the combinations of parameters that were settled. */
  readonly degrees: number;
  /** Standard deviation of an observation of weight one; absent without degrees of freedom. */
  readonly deviation?: number;
  /** Standard errors: infinite when not settled by the data, 0 for a parameter held on a bound. */
  readonly standardErrors?: readonly number[];
  /** Student's intervals of the asked confidence, cut to the bounds. */
  readonly intervals?: readonly { readonly low: number; readonly high: number }[];
  /** Covariance of the parameters; infinite where a standard error is. */
  readonly covariance?: readonly (readonly number[])[];
  readonly confidence: number;
  /** Combinations of the parameters, worst settled first. */
  readonly directions: readonly Direction[];
  /** Every start tried, and how many of them led to this minimum. */
  readonly starts: readonly StartReport[];
  readonly agreeing: number;
  /** For predictions: what the slopes at the minimum say. */
  readonly precision: Precision;
  /** Sizes that relative changes are relative to. */
  readonly sizes: readonly number[];
}

/** No minimum was reached; the lowest point seen is given, and is not a fit. */
export interface NoFit {
  readonly found: false;
  readonly stop: Stop;
  readonly message: string;
  readonly lowest: StartReport;
  readonly starts: readonly StartReport[];
}

const messages: Readonly<Record<Stop, string>> = {
  exact: 'the model meets every observation exactly',
  gradient: 'the residuals are at right angles to every slope',
  cost: 'no step lowers the cost by more than rounding',
  step: 'the next step is shorter than rounding',
  steps: 'the limit of steps was met before a minimum; start nearer, or allow more steps',
  stuck: 'no step lowers the cost although the slopes promise it; state wider difference steps',
  'no-effect': 'no parameter changes any prediction there; start elsewhere',
  model: 'the model gives no finite prediction or slope there; bound the parameters',
};

const defaultSteps = 500;
const defaultConfidence = 0.9;
/** Relative difference of cost below which two starts found the same minimum. */
const same = 1e-6;
/** Rounds in which the scale of a robust loss and its residuals settle on each other. */
const mostScaleRounds = 50;

function allStarts(problem: LeastSquaresProblem, first: readonly number[], options: FitOptions) {
  const { starts = 0 } = options;
  const further = typeof starts === 'number' ? spreadStarts(problem.parameters, starts) : starts;
  for (const start of further) {
    if (start.length !== first.length || !start.every(Number.isFinite)) {
      throw new RangeError(`a start needs ${first.length} finite values, got ${start.join(', ')}`);
    }
  }
  const low = problem.parameters.map((p) => p.low ?? -Infinity);
  const high = problem.parameters.map((p) => p.high ?? Infinity);
  return [first, ...further].map((start) =>
    start.map((value, j) => Math.min(high[j]!, Math.max(low[j]!, value))),
  );
}

interface Search {
  readonly best: Descent;
  readonly loss: ScaledLoss;
  readonly reports: readonly StartReport[];
}

/** Lowest end of the starts; a minimum before a point that is lower by rounding only. */
function search(
  problem: ReadyProblem,
  loss: ScaledLoss,
  starts: readonly (readonly number[])[],
  options: FitOptions,
): Search {
  const most = options.mostSteps ?? defaultSteps;
  const ends = starts.map((s) => descend(problem, loss, s, most, options.firstRadius ?? 1));
  let best = ends[0]!;
  for (const end of ends) {
    const better = isMinimum(end.stop) && !isMinimum(best.stop);
    if (end.cost < best.cost * (better ? 1 + same : 1)) best = end;
  }
  const reports = ends.map(({ stop, values, cost, steps }, i) => ({
    start: starts[i]!,
    stop,
    values,
    cost,
    steps,
  }));
  return { best, loss, reports };
}

/** A robust loss without a scale: squares first, then scale and residuals in turn. */
function searchWithScale(
  problem: ReadyProblem,
  kind: 'huber' | 'soft-l1',
  starts: readonly (readonly number[])[],
  options: FitOptions,
): Search {
  let found = search(problem, { kind: 'squares' }, starts, options);
  let last = 0;
  for (let round = 0; round < mostScaleRounds; round++) {
    const { best } = found;
    if (!best.residuals || !isMinimum(best.stop)) return found;
    const weighted = best.residuals.filter((_, i) => problem.rootWeights[i]! > 0);
    const scale = scaleFrom(weighted, problem.names.length);
    if (scale === 0 || Math.abs(scale - last) <= same * last) return found;
    last = scale;
    const next = search(problem, { kind, scale }, [best.values], options);
    found = { ...next, reports: found.reports };
  }
  return found;
}

/**
 * Variance of a weighted residual. For a robust loss that of P. J. Huber (Robust Statistics, 1981,
 * §7.6, first proposal; from memory): the pulls' variance over the square of their mean slope, with
 * his correction for the parameters fitted.
 */
function variance(problem: ReadyProblem, search: Search, rank: number): number | undefined {
  const residuals = search.best.residuals!.filter((_, i) => problem.rootWeights[i]! > 0);
  const count = residuals.length;
  if (count <= rank) return undefined;
  const { loss } = search;
  const pulls = residuals.map((r) => r * pullWeight(loss, r));
  const squares = pulls.reduce((sum, pull) => sum + pull * pull, 0) / (count - rank);
  if (loss.kind === 'squares') return squares;
  const slopes = residuals.map((r) => pullSlope(loss, r));
  const mean = slopes.reduce((sum, s) => sum + s, 0) / count;
  const spread = slopes.reduce((sum, s) => sum + (s - mean) * (s - mean), 0) / count;
  if (mean === 0) return undefined;
  const correction = 1 + ((rank / count) * spread) / (mean * mean);
  return (squares * correction * correction) / (mean * mean);
}

const unit = (count: number, at: number) => Array.from({ length: count }, (_, j) => +(j === at));

function statistics(
  problem: ReadyProblem,
  precision: Precision,
  values: readonly number[],
  square: number,
  degrees: number,
  confidence: number,
) {
  const count = values.length;
  const covariance = values.map((_, i) =>
    values.map((_, j) => covarianceOf(precision, square, unit(count, i), unit(count, j))),
  );
  const standardErrors = covariance.map((row, j) => Math.sqrt(row[j]!));
  const quantile = studentQuantile(confidence, degrees);
  const intervals = values.map((value, j) => {
    const half = standardErrors[j] === 0 ? 0 : quantile * standardErrors[j]!;
    return {
      low: Math.max(problem.low[j]!, value - half),
      high: Math.min(problem.high[j]!, value + half),
    };
  });
  return { deviation: Math.sqrt(square), standardErrors, intervals, covariance };
}

function boundOf(problem: ReadyProblem, value: number, j: number) {
  if (value <= problem.low[j]!) return 'low' as const;
  return value >= problem.high[j]! ? ('high' as const) : undefined;
}

function describe(
  problem: ReadyProblem,
  found: Search,
  jacobian: Jacobian,
  confidence: number,
): Fit {
  const { best, reports, loss } = found;
  const { values, stop } = best;
  const bounds = values.map((value, j) => boundOf(problem, value, j));
  const free = values.flatMap((_, j) => (bounds[j] === undefined ? [j] : []));
  const precision: Precision = precisionOf(jacobian, free);
  const degrees = counted(problem) - precision.rank;
  const square = variance(problem, found, precision.rank);
  const sizes = values.map((value, j) => (value === 0 ? problem.typical[j]! : Math.abs(value)));
  const deviation = square === undefined ? undefined : Math.sqrt(square);
  const predicted = problem.model(values);
  return {
    found: true,
    stop,
    message: messages[stop],
    names: problem.names,
    values,
    bounds,
    residuals: problem.observed.map((y, i) => y - predicted[i]!),
    cost: best.cost,
    loss,
    degrees,
    confidence,
    ...(square === undefined
      ? {}
      : statistics(problem, precision, values, square, degrees, confidence)),
    directions: directionsOf(jacobian, precision, problem.names, sizes, deviation),
    starts: reports,
    agreeing: reports.filter((r) => isMinimum(r.stop) && sameCost(r, best, loss, reports)).length,
    precision,
    sizes,
  };
}

/** Whether a start led to the lowest minimum; of squares, where the loss took its scale from them. */
function sameCost(
  report: StartReport,
  best: Descent,
  loss: ScaledLoss,
  reports: readonly StartReport[],
): boolean {
  const lowest = loss.kind === 'squares' ? best.cost : Math.min(...reports.map((r) => r.cost));
  return report.cost <= lowest * (1 + same);
}

/**
 * Fits the model to the observations. Deterministic: the same problem gives the same bits wherever
 * the model does.
 *
 * @throws RangeError for a problem no fit could make sense of; a fit that fails is returned as such
 */
export function leastSquares(problem: LeastSquaresProblem, options: FitOptions = {}): Fit | NoFit {
  const { confidence = defaultConfidence } = options;
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence must be between 0 and 1, got ${confidence}`);
  }
  const checked = ready(problem);
  const starts = allStarts(problem, checked.start, options);
  const loss = problem.loss ?? { kind: 'squares' };
  const scaled = settled(loss);
  const found = scaled
    ? search(checked, scaled, starts, options)
    : searchWithScale(checked, loss.kind as 'huber' | 'soft-l1', starts, options);
  const { best, reports } = found;
  const fail = (stop: Stop): NoFit => {
    const { values, cost, steps } = best;
    const from = reports.find((r) => r.values === values) ?? reports[0]!;
    const lowest = { start: from.start, stop, values, cost, steps };
    return { found: false, stop, message: messages[stop], lowest, starts: reports };
  };
  if (!isMinimum(best.stop) || !best.residuals) return fail(best.stop);
  const jacobian = jacobianAt(checked, best.values, best.residuals, 'fine');
  if (!jacobian) return fail('model');
  return describe(checked, found, audible(checked, best.values, jacobian), confidence);
}
