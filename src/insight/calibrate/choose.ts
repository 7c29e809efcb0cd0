/** Which explanations the measured transfers support: all that the criterion does not decide against. */
import { type Candidate, chooseModel, type Fit } from '../../numeric/fit/index.ts';
import type { FittedExplanation } from './fit.ts';

/** An explanation beside the others. */
export interface Ranked {
  readonly fitted: FittedExplanation;
  /** Criterion above the least; absent where there are too few points to judge it. */
  readonly difference?: number;
}

export interface Choice {
  /** Least criterion first, those that cannot be judged last. */
  readonly ranking: readonly Ranked[];
  /** Index in the ranking. */
  readonly chosen: number;
  readonly criterion: string;
}

/** Within this of the least an explanation is supported as well (Burnham and Anderson, 2002, §2.6). */
export const supportedWithin = 2;

/** Fewest points of which the scatter can be estimated beside the parameters. */
const pointsLeast = 6;
/** Relative scatter that is taken where too few points are left to tell it: assumed. */
export const assumedScatter = 0.05;
/** Relative error that the model claims no better than: a finer fit decides between no explanations. */
const finest = 1e-3;

/** Name of an explanation with its single values, which tells variants apart. */
export function variantName({ name, choices, values }: FittedExplanation): string {
  if (choices.length === 0) return name;
  return `${name} (${choices.map((key) => `${values[key]} B`).join(', ')})`;
}

/**
 * Chooses among explanations fitted to the same points. From six points on by AICc; with fewer by S/s² + 2K
 * with a scatter s of 5 %, since nothing is left to estimate it from.
 */
export function choose(fits: readonly FittedExplanation[]): Choice {
  const count = fits[0]!.residuals.length;
  return count >= pointsLeast ? byCriterion(fits, count) : byScatter(fits);
}

function byCriterion(fits: readonly FittedExplanation[], count: number): Choice {
  const candidates = fits.map((fitted): Candidate => {
    const inner = fits.filter((other) => other !== fitted && within(other, fitted));
    return {
      name: variantName(fitted),
      fit: asFit(fitted, count),
      contains: inner.map(variantName),
    };
  });
  const { ranking, chosen } = chooseModel(candidates);
  const ranked = ranking.map(({ name, difference }): Ranked => {
    const fitted = fits.find((f) => variantName(f) === name)!;
    return { fitted, ...(difference === undefined ? {} : { difference }) };
  });
  // Of those with as few parameters, one without values picked from a list says less, and is preferred.
  const fewest = ranked.find(({ fitted }) => variantName(fitted) === chosen)?.fitted.keys.length;
  const near = ranked.filter(
    ({ fitted, difference }) =>
      difference !== undefined && difference <= supportedWithin && fitted.keys.length === fewest,
  );
  const simplest = Math.min(...near.map(({ fitted }) => sizeOf(fitted)));
  const found = ranked.findIndex((r) => near.includes(r) && sizeOf(r.fitted) === simplest);
  return {
    ranking: ranked,
    chosen: Math.max(0, found),
    criterion:
      'AICc of the squares of relative errors; of those within 2 of the least, fewest parameters, then ' +
      'fewest values picked from a list',
  };
}

function byScatter(fits: readonly FittedExplanation[]): Choice {
  const scored = fits.map((fitted) => ({
    fitted,
    // Relative errors as they are: weights of points already hold a scatter.
    score: squaresOf(fitted) / (assumedScatter * assumedScatter) + 2 * sizeOf(fitted),
  }));
  scored.sort((a, b) => a.score - b.score || sizeOf(a.fitted) - sizeOf(b.fitted));
  const least = scored[0]!.score;
  const ranking = scored.map(({ fitted, score }) => ({ fitted, difference: score - least }));
  const near = ranking.filter(({ difference }) => difference <= supportedWithin);
  const fewest = Math.min(...near.map(({ fitted }) => sizeOf(fitted)));
  return {
    ranking,
    chosen: ranking.findIndex(({ fitted }) => sizeOf(fitted) === fewest),
    criterion:
      'squares of relative errors over those of an assumed scatter of 5 %, plus 2 a parameter: too few ' +
      'points to estimate the scatter; of those within 2 of the least, fewest parameters',
  };
}

function squaresOf({ residuals }: FittedExplanation): number {
  return residuals.reduce((sum, r) => sum + r * r, 0);
}

function sizeOf({ keys, choices }: FittedExplanation): number {
  return keys.length + choices.length;
}

function within(inner: FittedExplanation, outer: FittedExplanation): boolean {
  return (
    sizeOf(inner) < sizeOf(outer) &&
    inner.keys.every((key) => outer.keys.includes(key)) &&
    inner.choices.every(
      (key) => outer.choices.includes(key) && inner.values[key] === outer.values[key],
    )
  );
}

/**
 * What the criterion needs of a fit. A value picked from a short list cannot be tuned and is not counted as
 * a parameter; it is in the scatter of predictions, whose degrees of freedom it takes.
 */
function asFit(fitted: FittedExplanation, count: number): Fit {
  const { keys, values, residuals, precision, bounds, directions } = fitted;
  const names = [...keys];
  return {
    found: true,
    stop: 'step',
    message: '',
    names,
    values: names.map((key) => values[key]!),
    bounds,
    residuals,
    cost: fitted.cost + fitted.weight * finest * finest,
    loss: { kind: 'squares' },
    degrees: count - precision.rank,
    confidence: 0.9,
    directions,
    starts: [],
    agreeing: 1,
    precision,
    sizes: names.map((key) => values[key] || 1),
  };
}

/** The explanations that are supported, the chosen one first. */
export function supported(
  { ranking, chosen }: Choice,
  margin = supportedWithin,
): FittedExplanation[] {
  const first = ranking[chosen]!;
  const others = ranking.filter(
    (r) => r !== first && r.difference !== undefined && r.difference <= margin,
  );
  return [first, ...others].map(({ fitted }) => fitted);
}
