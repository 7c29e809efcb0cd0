/**
 * Predictions with a range: the parameters' uncertainty, what the model itself was off by where it was
 * measured, more of that the further from there, and every explanation that is still in play.
 */

import type { Limit } from '../../model/answer.ts';
import { ln } from '../../numeric/fit/ln.ts';
import { studentQuantile } from '../../numeric/student.ts';
import { sustainedAt } from '../../system/rate.ts';
import {
  exactSeconds,
  linkText,
  PointModel,
  type PointSpec,
  pointNetwork,
  settingsKey,
} from '../point-model.ts';
import { CompiledPoint, scaled, type Walkable } from './compiled.ts';
import type { KindKnowledge, Knowledge, KnownExplanation } from './knowledge.ts';
import { type CalibrationKey, calibrationKeys, parameterOf, type Values } from './parameters.ts';

/** One transfer predicted, bytes per second; low and high are a 90 % interval of one measurement. */
export interface PredictedPoint {
  readonly spec: PointSpec;
  readonly low: number;
  readonly expected: number;
  readonly high: number;
  /** `bound` where transfers of this kind were not measured at all: then from corners of the unknowns. */
  readonly kind: 'interval90' | 'bound';
  readonly ceiling: number;
  readonly limitedBy: Limit;
  /** In what this lies outside of what was measured; empty within. */
  readonly extrapolated: readonly string[];
  /** Relative standard deviations that the width is made of. */
  readonly width: {
    readonly parameters: number;
    readonly model: number;
    /** Greatest relative distance between explanations in play. */
    readonly explanations: number;
  };
}

const confidence = 0.9;

function square(value: number): number {
  return value * value;
}

/** Growth of the model's scatter with each octave beyond the sizes measured. */
const growthPerOctave = 0.25;
/**
 * Relative error of the model where it was not measured, however well it met what it was fitted to: at
 * another size, more with each octave beyond those measured, with settings not measured, and as a part of
 * the change in rate from the nearest end of the measured sizes, since what does not change there is
 * not at stake; and for transfers in turn. Judged from the published sets, see docs/calibrate.md.
 */
const unseen = {
  size: 0.02,
  octave: 0.005,
  settings: 0.08,
  change: 0.5,
  together: 0.12,
  unmeasured: 0.2,
} as const;

/** Predicts transfers from what is known. */
export function predictPoints(knowledge: Knowledge, specs: readonly PointSpec[]): PredictedPoint[] {
  const model = new PointModel(knowledge.case);
  return specs.map((spec) => {
    const kind = knowledge.kinds[spec.kind];
    return kind ? fromKind(knowledge, kind, model, spec) : fromCorners(knowledge, model, spec);
  });
}

/**
 * Transfers in turn, such as a read after every write, from what was measured of each alone. Rates and
 * ranges of each, in the order of the specs.
 */
export function predictTogether(
  knowledge: Knowledge,
  specs: readonly PointSpec[],
): Pick<PredictedPoint, 'spec' | 'low' | 'expected' | 'high' | 'kind' | 'extrapolated'>[] {
  const model = new PointModel(knowledge.case);
  const kinds = specs.map(({ kind }) => knowledge.kinds[kind]);
  const known = kinds.filter((kind) => kind !== undefined);
  const degrees = known.length > 0 ? Math.min(...known.map((kind) => kind.degrees)) : 1;
  const quantile = studentQuantile(confidence, degrees);
  // In turn the less sure of them decides how sure all are.
  const own = specs.map((spec, i) =>
    kinds[i] ? outside(knowledge, kinds[i], spec).deviation : unseen.unmeasured,
  );
  const modelled = square(Math.max(...own)) + square(unseen.together);
  const each = knowledge.explanations.map((explanation) => {
    const rates = model.together(explanation.values, specs);
    const variances = rates.map(() => modelled);
    for (const move of explanation.moves) {
      const ends = [1, -1].map((sign) => model.together(moved(explanation, move, sign), specs));
      rates.forEach((rate, i) => {
        variances[i]! += Math.max(...ends.map((end) => square(end[i]! / rate - 1)));
      });
    }
    return { rates, halves: variances.map((v) => quantile * Math.sqrt(v)) };
  });
  // In turn none comes more often than the slowest of them could alone, with all of the wire.
  const paces = specs.map((spec) => model.predict({}, spec).ceiling / spec.sizeBytes);
  const pace = Math.min(...paces);
  return specs.map((spec, i) => {
    const expected = each[0]!.rates[i]!;
    const high = Math.max(...each.map(({ rates, halves }) => rates[i]! * (1 + halves[i]!)));
    return {
      spec,
      low: Math.min(...each.map(({ rates, halves }) => rates[i]! / (1 + halves[i]!))),
      expected,
      high: Math.max(expected, Math.min(pace * spec.sizeBytes, high)),
      kind: 'interval90',
      extrapolated: ['in turn, of which nothing was measured'],
    };
  });
}

/** The model's own relative error at a transfer, and in what it lies outside of the measured ones. */
export function outside(
  knowledge: Knowledge,
  kind: KindKnowledge,
  spec: PointSpec,
): { deviation: number; words: string[] } {
  const { sizes, settings, scatter } = kind;
  const { sizeBytes } = spec;
  const words: string[] = [];
  let factor = 1;
  let more = kind.measured.includes(sizeBytes) ? 0 : unseen.size;
  const above = sizeBytes > sizes.high;
  const end = above ? sizes.high : sizes.low;
  if (above || sizeBytes < sizes.low) {
    const octaves = ln(above ? sizeBytes / end : end / sizeBytes) / ln(2);
    factor += growthPerOctave * octaves;
    more += unseen.octave * octaves;
    more += unseen.change * rateChange(knowledge, spec, end);
    const side = above ? 'above' : 'below';
    words.push(`size ${sizeBytes} B, ${side} ${end} B, where the measurements end`);
  }
  const link = linkText(knowledge.case, spec);
  if (settings.length > 0 && !settings.includes(link)) {
    more += unseen.settings;
    words.push(`${link}, where nothing was measured`);
  }
  return { deviation: Math.sqrt(square(scatter * factor) + square(more)), words };
}

/** Relative difference of the rates at a size and at the end of the measured ones, at most 1. */
function rateChange(knowledge: Knowledge, spec: PointSpec, end: number): number {
  const [chosen] = knowledge.explanations;
  if (!chosen) return 1;
  const rate = (sizeBytes: number) =>
    sizeBytes / compiledOf(knowledge, chosen.values, { ...spec, sizeBytes }).seconds(chosen.values);
  const [there, here] = [rate(spec.sizeBytes), rate(end)];
  return Math.abs(there - here) / Math.max(there, here);
}

/** Time and relative standard deviation by parameters, of one explanation. */
export function spreadOf(
  knowledge: Knowledge,
  explanation: KnownExplanation,
  spec: PointSpec,
): { seconds: number; deviation: number } {
  const { values, moves } = explanation;
  const compiled = exactAt(knowledge, explanation, spec);
  const seconds = compiled.seconds(values);
  let variance = 0;
  for (const move of moves) {
    const at = (sign: number) => compiled.seconds(moved(explanation, move, sign)) / seconds - 1;
    const [up, down] = [at(1), at(-1)];
    // At a bound or a change of what binds only one side moves the time: the larger counts.
    const most = Math.max(Math.abs(up), Math.abs(down));
    variance += most * most;
  }
  return { seconds, deviation: Math.sqrt(variance) };
}

/**
 * Values a move away. A move that would leave the range of a parameter is shortened as a whole, so that
 * what the data settle stays settled; only a parameter that stands on its bound is held there alone.
 */
function moved(
  { values, keys, ranges }: KnownExplanation,
  move: readonly number[],
  sign: number,
): Values {
  const paired = keys.includes('outstanding_requests') && keys.includes('read_latency');
  let part = 1;
  const at = keys.map((key, j) => {
    const value = values[key]!;
    const { low, high } = ranges[key]!;
    const step = sign * move[j]!;
    const room = step > 0 ? high - value : value - low;
    if (room <= (high - low) * 1e-6) return 0;
    part = Math.min(part, room / Math.abs(step));
    return step;
  });
  const found: Partial<Record<CalibrationKey, number>> = { ...values };
  keys.forEach((key, j) => {
    const value = values[key]!;
    const { low, high } = ranges[key]!;
    const step = at[j]! * part;
    // Latency over reads in flight is what rates tell: moved alike, their ratio stays.
    const pair = paired && (key === 'outstanding_requests' || key === 'read_latency');
    const next = pair && step < 0 ? value / (1 - step / value) : value + step;
    found[key] = Math.min(high, Math.max(low, next));
  });
  return found;
}

const compiledPoints = new WeakMap<Knowledge['case'], Map<string, CompiledPoint>>();

/** Times about an explanation's values, exact there. */
export function exactAt(
  knowledge: Knowledge,
  { values }: KnownExplanation,
  spec: PointSpec,
): Walkable {
  const compiled = compiledOf(knowledge, values, spec);
  return scaled(compiled, exactSeconds(knowledge.case, values, spec) / compiled.seconds(values));
}

function compiledOf({ case: c }: Knowledge, values: Values, spec: PointSpec): CompiledPoint {
  const entries = calibrationKeys.flatMap((key) => (values[key] === undefined ? [] : [key]));
  const fixed = Object.fromEntries(
    entries.filter((key) => parameterOf(key).choices).map((key) => [key, values[key]]),
  ) as Values;
  const free = entries.filter(
    (key) =>
      !parameterOf(key).choices &&
      (!key.includes('_path.') || values[`${spec.kind}_path.width`] !== undefined),
  );
  const known = compiledPoints.get(c) ?? new Map<string, CompiledPoint>();
  compiledPoints.set(c, known);
  const { streamIndex, direction, sizeBytes, settings, kind } = spec;
  const at = [streamIndex, direction, kind, sizeBytes, settingsKey(settings)];
  const key = JSON.stringify([at, fixed, free]);
  let found = known.get(key);
  if (!found) {
    found = new CompiledPoint(c, spec, fixed, free);
    known.set(key, found);
  }
  return found;
}

function fromKind(
  knowledge: Knowledge,
  kind: KindKnowledge,
  model: PointModel,
  spec: PointSpec,
): PredictedPoint {
  const [chosen] = knowledge.explanations;
  const { deviation: own, words } = outside(knowledge, kind, spec);
  const inPlay = knowledge.explanations.filter((e) => words.length > 0 || e.supported);
  const quantile = studentQuantile(confidence, kind.degrees);
  const spreads = inPlay.map((explanation) => spreadOf(knowledge, explanation, spec));
  const halves = spreads.map(
    ({ deviation }) => quantile * Math.sqrt(square(deviation) + square(own)),
  );
  const exact = model.predict(chosen!.values, spec);
  const lows = spreads.map(({ seconds }, i) => spec.sizeBytes / (seconds * (1 + halves[i]!)));
  const highs = spreads.map(({ seconds }, i) =>
    halves[i]! < 1 ? spec.sizeBytes / (seconds * (1 - halves[i]!)) : Number.POSITIVE_INFINITY,
  );
  const apart = spreads.map(({ seconds }) => Math.abs(seconds / spreads[0]!.seconds - 1));
  return {
    spec,
    low: Math.min(exact.rate, ...lows),
    expected: exact.rate,
    high: Math.max(exact.rate, Math.min(exact.ceiling, Math.max(...highs))),
    kind: 'interval90',
    ceiling: exact.ceiling,
    limitedBy: exact.limitedBy,
    extrapolated: words,
    width: {
      parameters: spreads[0]!.deviation,
      model: own,
      explanations: Math.max(...apart),
    },
  };
}

/** A kind of transfer that was not measured: fitted values that it meets, corners for all else. */
function fromCorners(knowledge: Knowledge, model: PointModel, spec: PointSpec): PredictedPoint {
  const [chosen] = knowledge.explanations;
  const values = Object.fromEntries(
    (chosen?.keys ?? [])
      .filter((key) => parameterOf(key).kinds.includes(spec.kind))
      .map((key) => [key, chosen!.values[key]!]),
  ) as Values;
  const exact = model.predict(values, spec);
  const network = pointNetwork(knowledge.case, values, spec);
  const [low, high] = (['low', 'high'] as const).map((end) => sustainedAt(network, end)[0]!);
  return {
    spec,
    low: Math.min(exact.rate, low!),
    expected: exact.rate,
    high: Math.max(exact.rate, high!),
    kind: 'bound',
    ceiling: exact.ceiling,
    limitedBy: exact.limitedBy,
    extrapolated: [`${spec.kind}s, of which none was measured`],
    width: { parameters: 0, model: 0, explanations: 0 },
  };
}
