/**
 * Calibration: the unknown parameters of a device and its host from measured transfers. A pure function
 * of points and case: explanations are fitted to each kind of transfer, then together, and all that the
 * data do not decide against are kept.
 */
import { toNumber } from '../../quantity/index.ts';
import type { Case } from '../../system/case.ts';
import { linkText, PointModel, type PointSpec, settingsKey } from '../point-model.ts';
import type { MeasuredPoint } from '../points.ts';
import { type Choice, choose, type Ranked, supportedWithin, variantName } from './choose.ts';
import { Compiler } from './compiled.ts';
import { type Explanation, explanationsOf, neutralValues } from './explanations.ts';
import {
  type FitGround,
  type FitPoint,
  type FittedExplanation,
  fitExplanation,
  ofKind,
  refit,
} from './fit.ts';
import {
  type KindKnowledge,
  type Knowledge,
  type KnownExplanation,
  knownExplanation,
  scatterOf,
} from './knowledge.ts';
import type { CalibrationKey, Kind, Values } from './parameters.ts';

export interface CalibrateOptions {
  /** Only explanations with one of these names, as `writes: set-up`; all when absent. */
  readonly explanations?: readonly string[];
  /** Starts spread over the bounds besides the first; 4 when absent. */
  readonly starts?: number;
}

/** A measured point as it was used. */
export interface UsedPoint {
  readonly measured: MeasuredPoint;
  readonly spec: PointSpec;
  readonly seconds: number;
  /** 1, or less where its error was found to be gross. */
  readonly weight: number;
}

/** A point that no fit can use, since no link is that fast. */
export interface ImpossiblePoint {
  readonly measured: MeasuredPoint;
  readonly rate: number;
  readonly ceiling: number;
}

/** A point that says nothing of the engine, and why. */
export interface UnfitPoint {
  readonly measured: MeasuredPoint;
  readonly why: string;
}

/** What a calibration found. */
export interface Calibration extends Knowledge {
  readonly points: readonly UsedPoint[];
  readonly impossible: readonly ImpossiblePoint[];
  readonly unfit: readonly UnfitPoint[];
  /** Explanations of all points, least criterion first; `explanations` holds those still in play. */
  readonly choice: Choice;
  readonly neutral: Values;
  readonly ground: FitGround;
}

/** Explanations further than this from the best have essentially no support (Burnham and Anderson). */
export const inPlayWithin = 10;
/** Most explanations that are kept for predictions. */
const inPlayMost = 8;
/** Variants of single values that are kept of an explanation. */
const variantsMost = 3;
/** Explanations of one kind that are joined with those of the other. */
const joinedMost = 4;
const kinds: readonly Kind[] = ['write', 'read'];

/** The point of a measurement as it is predicted. */
export function specOf(measured: MeasuredPoint): PointSpec {
  const { streamIndex, direction, sizeBytes, settings, places, kind } = measured;
  const place = places[0] ?? { file: '', line: 1, column: 1 };
  return { streamIndex, direction, sizeBytes, settings, place, kind };
}

/**
 * Fits what the case leaves unknown to measured transfers of streams alone.
 *
 * @returns undefined where no point is left that could be fitted
 */
export function calibrate(
  measured: readonly MeasuredPoint[],
  c: Case,
  options: CalibrateOptions = {},
): Calibration | undefined {
  const model = new PointModel(c);
  const { possible, impossible, unfit } = sorted(measured, model);
  const [first] = possible;
  if (!first) return undefined;
  const neutral = neutralValues(c, first.spec);
  const compiler = new Compiler(c);
  const ground = (points: readonly FitPoint[]): FitGround => ({
    case: c,
    compiler,
    neutral,
    points,
  });
  const byKind = kinds.flatMap((kind) => {
    const own = ofKind(possible, kind);
    return own.length === 0 ? [] : [fitKind(ground(own), c, kind, options)];
  });
  const weighed = byKind.flatMap(({ ground: { points }, scatter }) =>
    points.map((p) => ({ ...p, weight: p.weight / (scatter * scatter) })),
  );
  const order = new Map(possible.map(({ spec }, i) => [spec, i]));
  weighed.sort((a, b) => order.get(a.spec)! - order.get(b.spec)!);
  const whole = ground(weighed);
  const choice = choose(joined(whole, byKind));
  const used = possible.map(({ measured: m, spec, seconds }, i): UsedPoint => {
    const robust = byKind.flatMap((k) => k.ground.points).find((p) => p.spec === spec)!.weight;
    return { measured: m, spec, seconds: weighed[i]?.seconds ?? seconds, weight: robust };
  });
  return {
    ...known(whole, choice),
    case: c,
    points: used,
    impossible,
    unfit,
    choice,
    neutral,
    ground: whole,
  };
}

type Possible = FitPoint & { readonly measured: MeasuredPoint };

/** Why points cannot be fitted, in their order: those of a calibration that found nothing. */
export function reasonsAgainst(measured: readonly MeasuredPoint[], c: Case): string[] {
  const { impossible, unfit } = sorted(measured, new PointModel(c));
  const above = impossible.map(
    ({ measured: { sizeBytes } }) => `${sizeBytes} B faster than the ceiling of its link`,
  );
  return [...new Set([...unfit.map(({ why }) => why), ...above])];
}

function sorted(measured: readonly MeasuredPoint[], model: PointModel) {
  const possible: Possible[] = [];
  const impossible: ImpossiblePoint[] = [];
  const unfit: UnfitPoint[] = [];
  for (const point of measured) {
    const spec = specOf(point);
    const seen = ratable(point, spec, model);
    if ('why' in seen) {
      unfit.push({ measured: point, why: seen.why });
      continue;
    }
    const rate = toNumber(point.spread.low);
    const seconds = toNumber(point.secondsPerTransfer);
    if (rate > seen.ceiling) impossible.push({ measured: point, rate, ceiling: seen.ceiling });
    else possible.push({ measured: point, spec, seconds, weight: 1 });
  }
  return { possible, impossible, unfit };
}

/** The ceiling of a point, or why it is none that a fit of the engine can use. */
function ratable(
  point: MeasuredPoint,
  spec: PointSpec,
  model: PointModel,
): { readonly ceiling: number } | { readonly why: string } {
  // Without a size of its own a transfer says nothing of what goes with each transfer.
  if (point.sizeAssumed) return { why: 'its size is not stated' };
  const mover = model.case.streams[point.streamIndex]?.moved_by?.value ?? 'module';
  if (mover !== 'module') return { why: "a processor moves it, not the module's engine" };
  try {
    return { ceiling: model.predict({}, spec).ceiling };
  } catch (error) {
    // Settings that only the evidence states, for which no clause gives the numbers.
    if (error instanceof RangeError) return { why: error.message };
    throw error;
  }
}

interface FittedKind {
  readonly kind: Kind;
  readonly ground: FitGround;
  readonly choice: Choice;
  readonly scatter: number;
}

/** Explanations of one kind alone, gross errors weighed down. */
function fitKind(ground: FitGround, c: Case, kind: Kind, options: CalibrateOptions): FittedKind {
  const { explanations: wanted } = options;
  const all = explanationsOf(c, kind).filter(({ name }) => !wanted || wanted.includes(name));
  const asked: readonly Explanation[] = all.length > 0 ? all : explanationsOf(c, kind).slice(0, 1);
  let at = ground;
  for (let round = 0; ; round++) {
    const fits = asked.flatMap((e) => fitExplanation(at, e, options.starts).slice(0, variantsMost));
    const choice = choose(fits);
    const best = choice.ranking[choice.chosen]!.fitted;
    const weights = grossWeights(at, fits);
    const settled = weights.every((w, i) => Math.abs(w - at.points[i]!.weight) < 0.05);
    if (settled || round >= roundsMost) {
      const { scatter } = scatterOf(at, best, kind);
      return { kind, ground: at, choice, scatter: Math.max(scatter, scatterLeast) };
    }
    at = { ...ground, points: ground.points.map((p, i) => ({ ...p, weight: weights[i]! })) };
  }
}

const roundsMost = 3;
/** Fewest points of which one can be told to be gross. */
const robustLeast = 8;
/** Below this a scatter is rounding. */
const scatterLeast = 2e-4;

/**
 * Weights that leave points as they are but gross ones, beyond four times the scatter that the median
 * residual tells. The explanation with the least such scatter says which they are: one gross reading
 * drags squares, and with them the criterion, but hardly a median.
 */
function grossWeights({ points }: FitGround, fits: readonly FittedExplanation[]): number[] {
  if (points.length < robustLeast) return points.map(() => 1);
  const judged = fits
    .filter(({ degrees }) => degrees >= 3)
    .map(({ residuals, degrees }) => {
      const sizes = residuals.map(Math.abs).sort((a, b) => a - b);
      const middle = (sizes[(sizes.length - 1) >> 1]! + sizes[sizes.length >> 1]!) / 2;
      const scale = 1.4826 * middle * Math.sqrt(points.length / degrees);
      return { residuals, scale: Math.max(scatterLeast, scale) };
    });
  const least = Math.min(...judged.map(({ scale }) => scale));
  const best = judged.find(({ scale }) => scale === least);
  if (!best) return points.map(() => 1);
  return best.residuals.map((r) => {
    const part = Math.min(1, (grossFrom * best.scale) / Math.abs(r));
    return part * part;
  });
}

/** Scatters from which on an error is gross. */
const grossFrom = 4;

/** Keys of the engine that both kinds of transfer meet. */
const sharedKeys: readonly CalibrationKey[] = [
  'setup_per_transfer',
  'gap_per_packet',
  'translation.miss',
];

/** Explanations of both kinds, each with each, fitted together where they share a parameter. */
function joined(ground: FitGround, byKind: readonly FittedKind[]): FittedExplanation[] {
  const [first, second] = byKind;
  const anew = (f: FittedExplanation) => refit(ground, f.name, f.keys, f.choices, f.values);
  if (!first) return [];
  if (!second) return worthKeeping(first.choice).map(anew);
  return worthJoining(first.choice).flatMap((a) =>
    worthJoining(second.choice).map((b) => {
      const keys = [...new Set([...a.keys, ...b.keys])];
      // A shared value that only one of them asks for begins where that one has it.
      const values = { ...a.values, ...b.values };
      for (const key of sharedKeys) if (a.keys.includes(key)) values[key] = a.values[key]!;
      const name = `${a.name}; ${b.name}`;
      return refit(ground, name, keys, [...a.choices, ...b.choices], values);
    }),
  );
}

/** Of one kind: those in play, and a few behind them for the record. */
function worthKeeping({ ranking, chosen }: Choice): FittedExplanation[] {
  const first = ranking[chosen]!;
  const some = ranking.filter(
    (r, i) =>
      r === first || i < keptLeast || (r.difference ?? Number.POSITIVE_INFINITY) <= inPlayWithin,
  );
  return some.map(({ fitted }) => fitted);
}

const keptLeast = 8;

function worthJoining({ ranking, chosen }: Choice): FittedExplanation[] {
  const near = (r: Ranked) => r.difference !== undefined && r.difference <= inPlayWithin;
  const free = ranking.find(({ fitted }) => !fitted.keys.some((key) => sharedKeys.includes(key)));
  const some = [
    ranking[chosen]!,
    ...ranking.filter(near).slice(0, joinedMost),
    ...(free ? [free] : []),
  ];
  return [...new Set(some.map(({ fitted }) => fitted))];
}

function linksOf(c: Case, points: readonly FitPoint[]): string[] {
  const distinct = new Map(points.map(({ spec }) => [settingsKey(spec.settings), spec]));
  return [...new Set([...distinct.values()].map((spec) => linkText(c, spec)))];
}

/** Explanations in play with their uncertainty, and how each kind was measured. */
function known(ground: FitGround, choice: Choice): Omit<Knowledge, 'case'> {
  const chosen = choice.ranking[choice.chosen]!;
  const inPlay = choice.ranking
    .filter((r) => r === chosen || (r.difference ?? Number.POSITIVE_INFINITY) <= inPlayWithin)
    .slice(0, inPlayMost);
  const order = [chosen, ...inPlay.filter((r) => r !== chosen)];
  const explanations = order.map(
    ({ fitted, difference = 0 }): KnownExplanation => ({
      ...knownExplanation(ground, fitted, variantName(fitted), 1),
      supported: fitted === chosen.fitted || difference <= supportedWithin,
    }),
  );
  const found: Partial<Record<Kind, KindKnowledge>> = {};
  for (const kind of kinds) {
    const own = ofKind(ground.points, kind);
    if (own.length === 0) continue;
    const sizes = [...new Set(own.map(({ spec }) => spec.sizeBytes))].sort((a, b) => a - b);
    const { scatter, degrees } = scatterOf(ground, chosen.fitted, kind);
    found[kind] = {
      points: own.length,
      scatter: Math.max(scatter, scatterLeast),
      degrees,
      sizes: { low: sizes[0]!, high: sizes.at(-1)! },
      measured: sizes,
      settings: linksOf(ground.case, own),
    };
  }
  return { explanations, kinds: found };
}
