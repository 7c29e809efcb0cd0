/**
 * One explanation fitted to measured transfers: least squares of the relative errors of their times,
 * from several starts, from soft to sharp; parameters of single choices by trying each.
 */
import { leastSquares } from '../../numeric/fit/index.ts';
import {
  type Direction,
  directionsOf,
  type Precision,
  precisionOf,
} from '../../numeric/fit/precision.ts';
import type { Case } from '../../system/case.ts';
import { exactSeconds, type PointSpec } from '../point-model.ts';
import { type Compiler, scaled, type Timed, type Walkable } from './compiled.ts';
import { boundsOf, choicesOf, type Explanation } from './explanations.ts';
import {
  type CalibrationKey,
  calibrationKeys,
  type Kind,
  parameterOf,
  rounded,
  type Values,
} from './parameters.ts';

/** A measured transfer, and how much it counts. */
export interface FitPoint {
  readonly spec: PointSpec;
  /** Measured, of one transfer. */
  readonly seconds: number;
  /** 1/variance up to a common factor. */
  readonly weight: number;
}

/** An explanation with one choice of its single values, fitted. */
export interface FittedExplanation {
  readonly name: string;
  /** Parameters that moved, then those that were tried value by value. */
  readonly keys: readonly CalibrationKey[];
  readonly choices: readonly CalibrationKey[];
  /** All values that the network is given: fitted, known and neutral ones. */
  readonly values: Values;
  /** Predicted / measured − 1 of each point's time. */
  readonly residuals: readonly number[];
  /** Slopes of the residuals, one row a point, by `keys`. */
  readonly slopes: readonly (readonly number[])[];
  /** Weighted sum of squares, and the weights added up. */
  readonly cost: number;
  readonly weight: number;
  readonly bounds: readonly ('low' | 'high' | undefined)[];
  readonly precision: Precision;
  readonly directions: readonly Direction[];
  /** Points less parameters; may be zero or below. */
  readonly degrees: number;
  /** How many of the starts led here, and how many there were. */
  readonly agreeing: number;
  readonly starts: number;
}

/** What does not change between the fits of one calibration. */
export interface FitGround {
  readonly case: Case;
  readonly compiler: Compiler;
  readonly neutral: Values;
  readonly points: readonly FitPoint[];
}

/** From soft, where every resource shows a slope, to sharp, where the slowest alone counts. */
const doublings = [3, 6, 9] as const;
/** Starts spread over the bounds, besides the first. */
const startsMost = 4;
/** Of these so many are followed to the end. */
const followed = 2;

/** Fits every choice of an explanation's single values; best first. */
export function fitExplanation(ground: FitGround, explanation: Explanation, starts = startsMost) {
  const choices = explanation.keys.filter((key) => parameterOf(key).choices);
  const moving = explanation.keys.filter((key) => !parameterOf(key).choices);
  const variants = choices.reduce<Values[]>(
    (all, key) =>
      all.flatMap((head) =>
        choicesOf(ground.case, key).map((value) => ({ ...head, [key]: value })),
      ),
    [{}],
  );
  const tried = (variant: Values, from: number) =>
    fitVariant(ground, explanation.name, moving, choices, variant, from);
  if (variants.length <= followed + 1) {
    return variants.map((v) => tried(v, starts)).sort((a, b) => a.cost - b.cost);
  }
  // One start tells which choices are worth all of them.
  const first = variants.map((variant) => ({ variant, fitted: tried(variant, 0) }));
  first.sort((a, b) => a.fitted.cost - b.fitted.cost);
  const best = first.slice(0, followed + 1).map(({ variant }) => tried(variant, starts));
  const rest = first.slice(followed + 1).map(({ fitted }) => fitted);
  return [...best, ...rest].sort((a, b) => a.cost - b.cost);
}

/** Compiled points of a variant: free in all that its kind has, so that explanations share them. */
export function compiledFor(ground: FitGround, values: Values): Walkable[] {
  const fixed = Object.fromEntries(
    Object.entries(values).filter(([key]) => parameterOf(key as CalibrationKey).choices),
  ) as Values;
  return ground.points.map(({ spec }) => {
    const free = calibrationKeys.filter((key) => {
      const { choices, kinds } = parameterOf(key);
      if (choices || !kinds.includes(spec.kind) || values[key] === undefined) return false;
      return !key.includes('_path.') || values[`${spec.kind}_path.width`] !== undefined;
    });
    return ground.compiler.point(spec, fixed, free);
  });
}

/** Neutral values of a path come with the path. */
function baseOf(ground: FitGround, variant: Values): Values {
  const paths = (['write', 'read'] as const).filter((k) => variant[`${k}_path.width`]);
  const own = paths.flatMap((k) => [
    [`${k}_path.clock`, 1e8],
    [`${k}_path.time_per_transfer`, 0],
    [`${k}_path.transfer_interval`, 0],
  ]);
  return { ...Object.fromEntries(own), ...ground.neutral, ...variant };
}

/** Range of a parameter: no part of a transfer takes longer than the shortest transfer measured. */
export function rangeFor(ground: FitGround, key: CalibrationKey): { low: number; high: number } {
  const { unit, part, kinds } = parameterOf(key);
  const { low, high } = boundsOf(ground.case, key);
  if (unit !== 's' || part === 'host') return { low, high };
  const times = ground.points
    .filter(({ spec }) => kinds.includes(spec.kind))
    .map(({ seconds }) => seconds);
  const most = Math.min(high, ...times.map((t) => t * 1.02));
  return { low, high: Math.max(most, low + 1e-12) };
}

function fitVariant(
  ground: FitGround,
  name: string,
  moving: readonly CalibrationKey[],
  choices: readonly CalibrationKey[],
  variant: Values,
  starts: number,
): FittedExplanation {
  return finish(ground, name, moving, choices, baseOf(ground, variant), starts, doublings);
}

function finish(
  ground: FitGround,
  name: string,
  moving: readonly CalibrationKey[],
  choices: readonly CalibrationKey[],
  base: Values,
  starts: number,
  levels: readonly number[],
): FittedExplanation {
  const plain = compiledFor(ground, base);
  let compiled: readonly Walkable[] = plain;
  const found = search(ground, compiled, base, moving, starts, levels);
  let values = settledValues(ground, compiled, found.values, moving);
  let factors = factorsAt(ground, plain, values);
  let best = exactly(plain, factors);
  let bestValues = values;
  // What the compiled times leave out is a factor where the fit stands: bring it in, and fit from there.
  for (let round = 0; round < roundsMost && moving.length > 0; round++) {
    const before = compiled.map((point, i) => point.seconds(values) / plain[i]!.seconds(values));
    if (factors.every((f, i) => Math.abs(f / before[i]! - 1) < factorSettled)) break;
    compiled = exactly(plain, factors);
    const next = search(ground, compiled, values, moving, 0, [sharp]);
    values = settledValues(ground, compiled, next.values, moving);
    factors = factorsAt(ground, plain, values);
    const exact = exactly(plain, factors);
    if (costAt(ground, exact, values) >= costAt(ground, best, bestValues)) continue;
    best = exact;
    bestValues = values;
  }
  return described(ground, best, { ...found, name, moving, choices, values: bestValues });
}

function exactly(plain: readonly Walkable[], factors: readonly number[]): Walkable[] {
  return plain.map((point, i) => scaled(point, factors[i]!));
}

const roundsMost = 5;
/** Change of a factor below which times are exact enough to fit to. */
const factorSettled = 1e-3;
const sharp = 9;

/** Values as a part states them: whole where they must be, the others beside them, to their digits. */
function settledValues(
  ground: FitGround,
  compiled: readonly Walkable[],
  values: Values,
  moving: readonly CalibrationKey[],
): Values {
  let best = values;
  for (const key of moving.filter((k) => parameterOf(k).whole)) {
    best = nearestWhole(ground, compiled, best, moving, key);
  }
  const exact = moving.map((key) => [key, rounded(key, best[key]!)] as const);
  return { ...values, ...Object.fromEntries(exact) } as Values;
}

/** Exact over compiled time of each point. */
function factorsAt(ground: FitGround, plain: readonly Walkable[], values: Values): number[] {
  return ground.points.map(
    ({ spec }, i) => exactSeconds(ground.case, values, spec) / plain[i]!.seconds(values),
  );
}

/**
 * Fits parameters anew from where they stand, sharp from the beginning: other points or weights, or two
 * explanations joined.
 */
export function refit(
  ground: FitGround,
  name: string,
  moving: readonly CalibrationKey[],
  choices: readonly CalibrationKey[],
  from: Values,
): FittedExplanation {
  const base = baseOf(ground, from);
  return finish(ground, name, moving, choices, base, 0, doublings.slice(1));
}

/** The nearer of the two whole values, the others moved anew beside each. */
function nearestWhole(
  ground: FitGround,
  compiled: readonly Walkable[],
  values: Values,
  moving: readonly CalibrationKey[],
  key: CalibrationKey,
): Values {
  const others = moving.filter((k) => k !== key);
  const { low, high } = rangeFor(ground, key);
  const at = values[key]!;
  const trials = [Math.floor(at), Math.ceil(at)]
    .filter((v) => v >= low && v <= high)
    .map(
      (value) =>
        search(ground, compiled, { ...values, [key]: value }, others, 0, [doublings[2]]).values,
    );
  const costs = trials.map((v) => costAt(ground, compiled, v));
  return trials[costs.indexOf(Math.min(...costs))] ?? values;
}

export function residualsAt(
  ground: FitGround,
  compiled: readonly Walkable[],
  values: Values,
): number[] {
  return ground.points.map(({ seconds }, i) => compiled[i]!.seconds(values) / seconds - 1);
}

function costAt(ground: FitGround, compiled: readonly Walkable[], values: Values): number {
  return weighed(ground, residualsAt(ground, compiled, values));
}

function weighed({ points }: FitGround, residuals: readonly number[]): number {
  return residuals.reduce((sum, r, i) => sum + points[i]!.weight * r * r, 0);
}

/** The lowest of several descents; each walks from soft to sharp. */
function search(
  ground: FitGround,
  compiled: readonly Walkable[],
  base: Values,
  moving: readonly CalibrationKey[],
  starts: number,
  levels: readonly number[],
): { values: Values; agreeing: number; starts: number } {
  if (moving.length === 0) return { values: base, agreeing: 1, starts: 1 };
  const { points } = ground;
  const asValues = (v: readonly number[]): Values => {
    const values: Partial<Record<CalibrationKey, number>> = { ...base };
    for (let j = 0; j < moving.length; j++) values[moving[j]!] = v[j]!;
    return values;
  };
  const parameters = moving.map((key) => {
    const { low, high } = rangeFor(ground, key);
    const start = base[key] || (low + high) / 4;
    const spread = low > 0 ? ('geometric' as const) : ('linear' as const);
    return { name: key, low, high, start: Math.min(high, Math.max(low, start)), spread };
  });
  const descend = (from: readonly number[] | undefined, level: number, more: number) => {
    // Slopes are asked for where the model was: once is enough.
    let last: { readonly v: readonly number[]; readonly timed: readonly Timed[] } | undefined;
    const at = (v: readonly number[]): readonly Timed[] => {
      if (last?.v.every((value, j) => value === v[j])) return last.timed;
      const values = asValues(v);
      const timed = compiled.map((point) => point.smooth(values, moving, level));
      last = { v: [...v], timed };
      return timed;
    };
    const result = leastSquares(
      {
        parameters: from ? parameters.map((p, j) => ({ ...p, start: from[j]! })) : parameters,
        observed: points.map(() => 1),
        weights: points.map(({ weight }) => weight),
        model: (v) => at(v).map((t, i) => t.seconds / points[i]!.seconds),
        slopes: (v) => at(v).map((t, i) => t.slopes.map((s) => s / points[i]!.seconds)),
      },
      { starts: more, mostSteps: 50 },
    );
    return result;
  };
  const soft = descend(undefined, levels[0]!, starts);
  const ends = [...soft.starts].sort((a, b) => a.cost - b.cost).slice(0, followed);
  const results = ends.map(({ values }) => {
    let last: readonly number[] = values;
    for (const level of levels.slice(1)) {
      const next = descend(last, level, 0);
      last = next.found ? next.values : next.lowest.values;
    }
    return { values: asValues(last), cost: costAt(ground, compiled, asValues(last)) };
  });
  results.sort((a, b) => a.cost - b.cost);
  const lowest = Math.min(...soft.starts.map((s) => s.cost));
  const agreeing = soft.starts.filter((s) => s.cost <= lowest * 1.0001).length;
  return { values: results[0]!.values, agreeing, starts: soft.starts.length };
}

function described(
  ground: FitGround,
  compiled: readonly Walkable[],
  found: {
    readonly name: string;
    readonly moving: readonly CalibrationKey[];
    readonly choices: readonly CalibrationKey[];
    readonly values: Values;
    readonly agreeing: number;
    readonly starts: number;
  },
): FittedExplanation {
  const { name, moving, choices, values, agreeing, starts } = found;
  const { points } = ground;
  const residuals = residualsAt(ground, compiled, values);
  const slopes = slopesAt(ground, compiled, values, moving);
  const bounds = moving.map((key) => boundOf(ground, key, values[key]!));
  const free = moving.flatMap((_, j) => (bounds[j] === undefined ? [j] : []));
  const rows = slopes.map((row, i) => row.map((s) => s * Math.sqrt(points[i]!.weight)));
  const precision = precisionOf(rows, free);
  const degrees = points.length - precision.rank - choices.length;
  const cost = weighed(ground, residuals);
  const deviation = degrees > 0 ? Math.sqrt(cost / degrees) : undefined;
  const sizes = moving.map((key) => values[key] || rangeFor(ground, key).high);
  return {
    name,
    keys: moving,
    choices,
    values,
    residuals,
    slopes,
    cost,
    weight: points.reduce((sum, p) => sum + p.weight, 0),
    bounds,
    precision,
    directions: directionsOf(rows, precision, moving, sizes, deviation),
    degrees,
    agreeing,
    starts,
  };
}

function boundOf(ground: FitGround, key: CalibrationKey, value: number) {
  const { low, high } = rangeFor(ground, key);
  const near = (high - low) * 1e-6;
  if (value <= low + near) return 'low' as const;
  return value >= high - near ? ('high' as const) : undefined;
}

/** Slopes of the relative times, sharp. */
export function slopesAt(
  ground: FitGround,
  compiled: readonly Walkable[],
  values: Values,
  keys: readonly CalibrationKey[],
): number[][] {
  return ground.points.map(({ seconds }, i) =>
    compiled[i]!.smooth(values, keys, doublings[2]).slopes.map((s) => s / seconds),
  );
}

/** Points of one kind of transfer. */
export function ofKind(points: readonly FitPoint[], kind: Kind): FitPoint[] {
  return points.filter(({ spec }) => spec.kind === kind);
}
