/**
 * What is known of a device after measuring: values by explanation, how far they may move together, and
 * how far the model itself was off. Predictions are made from this, be it fresh from a fit or read from
 * a saved part.
 */
import {
  covarianceOf,
  type Precision,
  precisionOf,
  withObservation,
} from '../../numeric/fit/precision.ts';
import type { Case } from '../../system/case.ts';
import { assumedScatter } from './choose.ts';
import { type FitGround, type FittedExplanation, rangeFor } from './fit.ts';
import type { CalibrationKey, Kind, Values } from './parameters.ts';

/** One explanation with its uncertainty. */
export interface KnownExplanation {
  readonly name: string;
  /** Within the margin of the criterion; the others are in play only outside of what was measured. */
  readonly supported: boolean;
  readonly values: Values;
  /** Parameters that were fitted and move freely. */
  readonly keys: readonly CalibrationKey[];
  /** Uncorrelated moves of one standard deviation each, by `keys`. */
  readonly moves: readonly (readonly number[])[];
  readonly ranges: Readonly<Record<string, { readonly low: number; readonly high: number }>>;
  /** What the measurements say of `keys`, for residuals of deviation one. */
  readonly precision: Precision;
}

/** How well one kind of transfer was known. */
export interface KindKnowledge {
  readonly points: number;
  /** Standard deviation of a relative time that the model did not see, where it was measured. */
  readonly scatter: number;
  readonly degrees: number;
  readonly sizes: { readonly low: number; readonly high: number };
  /** Sizes measured, rising. */
  readonly measured: readonly number[];
  /** Settings under which it was measured, as comparable texts. */
  readonly settings: readonly string[];
}

export interface Knowledge {
  readonly case: Case;
  /** The chosen one first; others that the data do not decide against. */
  readonly explanations: readonly KnownExplanation[];
  readonly kinds: Readonly<Partial<Record<Kind, KindKnowledge>>>;
}

/** Half width of a 90 % interval over its standard deviation, normal distribution. */
export const normal90 = 1.6448536269514722;

/**
 * Scatter of one kind from the residuals, each over √(1 − leverage): as much larger as the point drew the
 * fit to itself (R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, §2.1; from
 * memory). What the parameters add to a prediction is added there. Systematic errors of the model are in it
 * as all others.
 */
export function scatterOf(ground: FitGround, fitted: FittedExplanation, kind: Kind) {
  const { precision, slopes, residuals, keys, choices } = fitted;
  const heaviest = weightOf(ground, kind);
  let sum = 0;
  let weights = 0;
  let points = 0;
  ground.points.forEach(({ spec, weight }, i) => {
    if (spec.kind !== kind) return;
    const row = slopes[i]!.map((s) => s * Math.sqrt(weight));
    const leverage = Math.min(leverageMost, covarianceOf(precision, 1, row));
    const left = residuals[i]! / Math.sqrt(1 - leverage);
    // Points that count little were found to be gross: their errors are not the model's.
    const counts = Math.min(1, weight / heaviest);
    sum += counts * left * left;
    weights += counts;
    points += 1;
  });
  const own = keys.filter((key, j) => fitted.bounds[j] === undefined && actsOn(key, kind)).length;
  const tried = choices.filter((key) => actsOn(key, kind)).length;
  const degrees = points - own - tried;
  if (degrees >= degreesLeast) return { scatter: Math.sqrt(sum / weights), degrees };
  // Too few to tell: an assumed scatter of the weight of so many points beside them.
  const assumed = assumedDegrees * assumedScatter * assumedScatter;
  const square = (assumed + sum) / (assumedDegrees + weights);
  return { scatter: Math.sqrt(square), degrees: Math.max(0, degrees) + assumedDegrees };
}

const leverageMost = 0.9;
const degreesLeast = 3;
const assumedDegrees = 3;

function actsOn(key: CalibrationKey, kind: Kind): boolean {
  return !key.includes('_path.') || key.startsWith(kind);
}

function weightOf({ points }: FitGround, kind: Kind): number {
  return Math.max(...points.filter((p) => p.spec.kind === kind).map((p) => p.weight));
}

/**
 * An explanation with its uncertainty: slopes and scatter, and beside them the physical range of each
 * parameter as one weak observation, so that what the data do not settle moves over its range and no
 * further.
 *
 * @param scatter standard deviation of a residual of weight one
 */
export function knownExplanation(
  ground: FitGround,
  fitted: FittedExplanation,
  name: string,
  scatter: number,
): KnownExplanation {
  const { keys, slopes, values } = fitted;
  const ranges = Object.fromEntries(keys.map((key) => [key, rangeFor(ground, key)]));
  const rows = slopes.map((row, i) => row.map((s) => s * Math.sqrt(ground.points[i]!.weight)));
  let precision = precisionOf(
    rows,
    keys.map((_, j) => j),
  );
  keys.forEach((key, j) => {
    const { low, high } = ranges[key]!;
    const deviation = (high - low) / 2 / normal90;
    precision = withObservation(
      precision,
      keys.map((_, i) => (i === j ? scatter / deviation : 0)),
    );
  });
  const square = scatter * scatter;
  const unit = (at: number) => keys.map((_, i) => +(i === at));
  const covariance = keys.map((_, i) =>
    keys.map((_, j) => covarianceOf(precision, square, unit(i), unit(j))),
  );
  return { name, supported: true, values, keys, moves: movesOf(covariance), ranges, precision };
}

/** Columns of a lower triangle whose product with its transpose is the matrix (Cholesky). */
export function movesOf(matrix: readonly (readonly number[])[]): number[][] {
  const count = matrix.length;
  const lower = matrix.map(() => new Array<number>(count).fill(0));
  for (let j = 0; j < count; j++) {
    let rest = matrix[j]![j]!;
    for (let k = 0; k < j; k++) rest -= lower[j]![k]! * lower[j]![k]!;
    const root = Math.sqrt(Math.max(0, rest));
    lower[j]![j] = root;
    for (let i = j + 1; i < count; i++) {
      let left = matrix[i]![j]!;
      for (let k = 0; k < j; k++) left -= lower[i]![k]! * lower[j]![k]!;
      lower[i]![j] = root === 0 ? 0 : left / root;
    }
  }
  return matrix.map((_, k) => lower.map((row) => row[k]!));
}

/** The covariance that the moves stand for. */
export function covarianceMatrix(moves: readonly (readonly number[])[]): number[][] {
  return moves.map((_, i) =>
    moves.map((_m, j) => moves.reduce((sum, m) => sum + m[i]! * m[j]!, 0)),
  );
}

/** Standard deviation of each key: its moves together. */
export function deviationsOf({ keys, moves }: KnownExplanation): number[] {
  return keys.map((_, j) => Math.sqrt(moves.reduce((sum, move) => sum + move[j]! * move[j]!, 0)));
}
