/**
 * What a fit is asked: a model with a few parameters, what was observed, and how far to go. All
 * figures are plain numbers in the caller's units; nothing here knows what they mean.
 */

/** One unknown of the model. */
export interface FitParameter {
  readonly name: string;
  /** First guess; moved onto the nearer bound when it lies outside. */
  readonly start: number;
  /** Smallest allowed value, −∞ when absent. */
  readonly low?: number;
  /** Largest allowed value, +∞ when absent; above `low`. */
  readonly high?: number;
  /**
   * Half width of the difference quotient, in the parameter's own unit. Give it where the model is
   * a staircase on a small scale, as byte counts are: the slope is then taken over this width.
   */
  readonly step?: number;
  /** How further starts spread between finite bounds; `geometric` needs `low` above zero. */
  readonly spread?: 'linear' | 'geometric';
}

/** Predicted values at the given parameter values, one for each observation, in their order. */
export type Model = (values: readonly number[]) => readonly number[];

/** Slopes of the model: one row an observation, in it one slope a parameter. */
export type Slopes = (values: readonly number[]) => readonly (readonly number[])[];

/**
 * How a residual counts. `squares` is ordinary least squares. The other two count as squares up to
 * `scale` and about linearly beyond, so that a gross error pulls with a bounded force: `huber`
 * changes over at `scale` (P. J. Huber, Ann. Math. Statist. 35, 1964), `soft-l1` smoothly,
 * 2 scale² (√(1 + (r/scale)²) − 1).
 */
export type Loss =
  | { readonly kind: 'squares' }
  | {
      readonly kind: 'huber' | 'soft-l1';
      /**
       * Weighted residual at which the force levels off, in units of √weight × observation. When
       * absent it is taken from the residuals themselves: 1.345 × 1.4826 × their median size.
       */
      readonly scale?: number;
    };

export interface LeastSquaresProblem {
  /** At least one; names differ. */
  readonly parameters: readonly FitParameter[];
  /** At least one, all finite. */
  readonly observed: readonly number[];
  readonly model: Model;
  /** Slopes in closed form; taken by differences when absent. */
  readonly slopes?: Slopes;
  /** Relative weights, 1/variance up to a common factor; all 1 when absent. Zero leaves out. */
  readonly weights?: readonly number[];
  /** `squares` when absent. */
  readonly loss?: Loss;
}

export interface FitOptions {
  /** Further starts: how many to spread over the bounds, or the points themselves. */
  readonly starts?: number | readonly (readonly number[])[];
  /** Steps tried from one start before it is given up, 500 when absent. */
  readonly mostSteps?: number;
  /** Chance that an interval holds the true value, 0.9 when absent. */
  readonly confidence?: number;
  /** Radius of the first step, in units of the scaled start; 1 when absent. */
  readonly firstRadius?: number;
}

/** A checked problem, with all that may be absent filled in. */
export interface ReadyProblem {
  readonly names: readonly string[];
  readonly start: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
  /** Size a parameter is taken to have while it is zero. */
  readonly typical: readonly number[];
  readonly steps: readonly (number | undefined)[];
  readonly observed: readonly number[];
  readonly rootWeights: readonly number[];
  readonly model: Model;
  readonly slopes: Slopes | undefined;
}

function refuse(what: string): never {
  throw new RangeError(what);
}

function checkParameter(parameter: FitParameter): void {
  const { name, start, low = -Infinity, high = Infinity, step } = parameter;
  if (!Number.isFinite(start)) refuse(`${name}: start must be finite, got ${start}`);
  if (!(low < high)) refuse(`${name}: low must be below high, got ${low} and ${high}`);
  if (step !== undefined && !(step > 0 && Number.isFinite(step))) {
    refuse(`${name}: step must be above zero and finite, got ${step}`);
  }
  if (parameter.spread === 'geometric' && !(low > 0)) {
    refuse(`${name}: a geometric spread needs low above zero, got ${low}`);
  }
}

function typicalSize({ start, low = -Infinity, high = Infinity }: FitParameter): number {
  if (start !== 0) return Math.abs(start);
  return Number.isFinite(high - low) ? high - low : 1;
}

/**
 * Checks a problem and fills in what is absent.
 *
 * @throws RangeError naming the field, for a problem no fit could make sense of
 */
export function ready(problem: LeastSquaresProblem): ReadyProblem {
  const { parameters, observed, weights } = problem;
  if (parameters.length === 0) refuse('a fit needs at least one parameter');
  parameters.forEach(checkParameter);
  const names = parameters.map((p) => p.name);
  if (new Set(names).size < names.length) refuse(`parameter names differ, got ${names.join(', ')}`);
  if (observed.length === 0) refuse('a fit needs at least one observation');
  if (!observed.every(Number.isFinite)) refuse('observed values must be finite');
  if (weights && weights.length !== observed.length) {
    refuse(`need a weight for each of ${observed.length} observations, got ${weights.length}`);
  }
  if (weights?.some((w) => !(w >= 0 && Number.isFinite(w)))) {
    refuse('weights must be finite and not below zero');
  }
  const low = parameters.map((p) => p.low ?? -Infinity);
  const high = parameters.map((p) => p.high ?? Infinity);
  return {
    names,
    start: parameters.map((p, j) => Math.min(high[j]!, Math.max(low[j]!, p.start))),
    low,
    high,
    typical: parameters.map(typicalSize),
    steps: parameters.map((p) => p.step),
    observed,
    rootWeights: observed.map((_, i) => Math.sqrt(weights?.[i] ?? 1)),
    model: problem.model,
    slopes: problem.slopes,
  };
}

/** Observations that count: those of weight above zero. */
export function counted(problem: ReadyProblem): number {
  return problem.rootWeights.filter((w) => w > 0).length;
}

/** Weighted residuals √w (predicted − observed), or nothing where the model gives no finite one. */
export function residualsAt(
  problem: ReadyProblem,
  values: readonly number[],
): readonly number[] | undefined {
  const { observed, rootWeights } = problem;
  const predicted = problem.model(values);
  if (predicted.length !== observed.length) {
    refuse(`the model gave ${predicted.length} values for ${observed.length} observations`);
  }
  const residuals = observed.map((y, i) =>
    rootWeights[i] === 0 ? 0 : rootWeights[i]! * (predicted[i]! - y),
  );
  return residuals.every(Number.isFinite) ? residuals : undefined;
}
