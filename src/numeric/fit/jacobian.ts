/** Slopes of the weighted residuals, given or by differences that stay inside the bounds. */
import { type ReadyProblem, residualsAt } from './problem.ts';

/** One row an observation, in it one slope a parameter. */
export type Jacobian = readonly (readonly number[])[];

/**
 * Difference quotients: `central` of second order while on the way, `fine` of fourth order for the
 * last steps and the covariance. A parameter that states its step is always taken by the former.
 */
export type Difference = 'central' | 'fine';

/**
 * Steps as part of the parameter. At second order truncation and rounding balance at ε^(1/3), about
 * 2^-17. At fourth order they would at ε^(1/5) for a model that bends over the parameter's own size;
 * a period over many turns bends over a small part of it, so a sixth of that: 2^-13.
 */
const reach: Readonly<Record<Difference, number>> = { central: 2 ** -17, fine: 2 ** -13 };

/** A parameter near zero is stepped as if it were this part of its typical size. */
const leastPart = 1e-8;

/** What a step of a parameter is a part of. */
function stepSize(problem: ReadyProblem, values: readonly number[], j: number): number {
  return Math.max(Math.abs(values[j]!), leastPart * problem.typical[j]!);
}

/** Offsets in steps, and the weight of the value there; divided by the step they give the slope. */
type Stencil = readonly (readonly [offset: number, weight: number])[];

const central: Stencil = [
  [-1, -1 / 2],
  [1, 1 / 2],
];
const centralFine: Stencil = [
  [-2, 1 / 12],
  [-1, -8 / 12],
  [1, 8 / 12],
  [2, -1 / 12],
];
const sided: Stencil = [
  [0, -3 / 2],
  [1, 4 / 2],
  [2, -1 / 2],
];
const sidedFine: Stencil = [
  [0, -25 / 12],
  [1, 48 / 12],
  [2, -36 / 12],
  [3, 16 / 12],
  [4, -3 / 12],
];

const mirrored = (stencil: Stencil): Stencil => stencil.map(([at, weight]) => [-at, -weight]);

/** Stencils in the order to try: both sides, then the side with more room. */
function stencilsFor(difference: Difference, below: number, above: number): readonly Stencil[] {
  const both = difference === 'fine' ? centralFine : central;
  const one = difference === 'fine' ? sidedFine : sided;
  return above >= below ? [both, one, mirrored(one)] : [both, mirrored(one), one];
}

function apply(
  problem: ReadyProblem,
  values: readonly number[],
  residuals: readonly number[],
  j: number,
  step: number,
  stencil: Stencil,
): number[] | undefined {
  const slope = residuals.map(() => 0);
  const { low, high } = problem;
  for (const [offset, weight] of stencil) {
    const moved = values[j]! + offset * step;
    if (moved < low[j]! || moved > high[j]!) return undefined;
    const there =
      offset === 0 ? residuals : residualsAt(problem, values.with(j, moved) as number[]);
    if (!there) return undefined;
    // Weights add up to zero; differences make a parameter of no effect exactly that.
    for (let i = 0; i < slope.length; i++) slope[i]! += weight * (there[i]! - residuals[i]!);
  }
  // `step` is a difference of two representable values, see `representable`.
  for (let i = 0; i < slope.length; i++) slope[i]! /= step;
  return slope;
}

/** The step as the difference that the rounded sum really makes. */
function representable(value: number, step: number): number {
  return value + step - value;
}

function column(
  problem: ReadyProblem,
  values: readonly number[],
  residuals: readonly number[],
  j: number,
  difference: Difference,
): number[] | undefined {
  const given = problem.steps[j];
  const kind = given === undefined ? difference : 'central';
  const value = values[j]!;
  const below = value - problem.low[j]!;
  const above = problem.high[j]! - value;
  const size = stepSize(problem, values, j);
  // A sided stencil of four steps must fit into the room there is.
  let step = Math.min(given ?? reach[kind] * size, Math.max(below, above) / 4);
  // Where the model gives nothing finite a little way off, look closer by.
  for (let tries = 0; tries < 6; tries++) {
    const exact = representable(value, step);
    if (exact > 0) {
      for (const stencil of stencilsFor(kind, below, above)) {
        const slope = apply(problem, values, residuals, j, exact, stencil);
        if (slope) return slope;
      }
    }
    step /= 16;
  }
  return undefined;
}

function given(problem: ReadyProblem, values: readonly number[]): Jacobian | undefined {
  const slopes = problem.slopes!(values);
  const wide = values.length;
  if (slopes.length !== problem.observed.length || slopes.some((row) => row.length !== wide)) {
    throw new RangeError(
      `slopes need ${problem.observed.length} rows of ${wide}, got ${slopes.length} rows`,
    );
  }
  const rows = slopes.map((row, i) => {
    const weight = problem.rootWeights[i]!;
    return row.map((slope) => (weight === 0 ? 0 : weight * slope));
  });
  return rows.every((row) => row.every(Number.isFinite)) ? rows : undefined;
}

/**
 * Slopes of the weighted residuals at `values`, or nothing where the model has no finite slopes.
 *
 * @param residuals the weighted residuals at `values`
 */
export function jacobianAt(
  problem: ReadyProblem,
  values: readonly number[],
  residuals: readonly number[],
  difference: Difference,
): Jacobian | undefined {
  if (problem.slopes) return given(problem, values);
  const rows = residuals.map(() => new Array<number>(values.length).fill(0));
  for (let j = 0; j < values.length; j++) {
    const slopes = column(problem, values, residuals, j, difference);
    if (!slopes) return undefined;
    for (let i = 0; i < rows.length; i++) rows[i]![j] = slopes[i]!;
  }
  return rows;
}

/** Change of the predictions under a step of the parameter's own size that rounding explains. */
const inaudible = 2 ** -33;

/**
 * Fine slopes with those columns put to zero that rounding of the predictions alone could have made.
 * Given slopes are taken at their word.
 */
export function audible(
  problem: ReadyProblem,
  values: readonly number[],
  jacobian: Jacobian,
): Jacobian {
  if (problem.slopes) return jacobian;
  const length = (column: readonly number[]) => Math.sqrt(column.reduce((s, v) => s + v * v, 0));
  const size = length(problem.observed.map((y, i) => y * problem.rootWeights[i]!));
  const heard = values.map(
    (_, j) =>
      length(jacobian.map((row) => row[j]!)) * stepSize(problem, values, j) > inaudible * size,
  );
  return jacobian.map((row) => row.map((slope, j) => (heard[j] ? slope : 0)));
}
