/**
 * Predictions with a range: the parameters' uncertainty, what the model itself was off by where it was
 * measured, more of that the further from there, and every explanation that is still in play.
 */

import type { Limit } from '../../model/answer.ts';
import { ln } from '../../numeric/fit/ln.ts';
import { studentQuantile } from '../../numeric/student.ts';
import { sustainedAt } from '../../system/rate.ts';
import { PointModel, type PointSpec, pointNetwork, settingsKey } from '../point-model.ts';
import { CompiledPoint } from './compiled.ts';
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
/** Growth of the model's error with each octave beyond the sizes measured. */
const growthPerOctave = 0.5;
/**
 * Relative error of the model at a size that was not measured, and more of it with each octave beyond
 * those measured and with settings not measured: however well it met what it was fitted to.
 */
const unseen = { size: 0.01, octave: 0.02, settings: 0.03 } as const;

/** Predicts transfers from what is known. */
export function predictPoints(knowledge: Knowledge, specs: readonly PointSpec[]): PredictedPoint[] {
  const model = new PointModel(knowledge.case);
  return specs.map((spec) => {
    const kind = knowledge.kinds[spec.kind];
    return kind ? fromKind(knowledge, kind, model, spec) : fromCorners(knowledge, model, spec);
  });
}

/** Octaves from the nearest measured size outwards, and what is outside in words. */
export function outside(
  kind: KindKnowledge,
  spec: PointSpec,
): { deviation: number; words: string[] } {
  const { sizes, settings, scatter } = kind;
  const words: string[] = [];
  let factor = 1;
  let more = kind.measured.includes(spec.sizeBytes) ? 0 : unseen.size;
  const { sizeBytes } = spec;
  const beyond = sizeBytes > sizes.high ? sizeBytes / sizes.high : sizes.low / sizeBytes;
  if (beyond > 1) {
    const octaves = ln(beyond) / ln(2);
    factor += growthPerOctave * octaves;
    more += unseen.octave * octaves;
    const side = sizeBytes > sizes.high ? 'above' : 'below';
    const end = sizeBytes > sizes.high ? sizes.high : sizes.low;
    words.push(`size ${sizeBytes} B, ${side} ${end} B, where the measurements end`);
  }
  if (!settings.includes(settingsKey(spec.settings))) {
    more += unseen.settings;
    words.push('settings under which nothing was measured');
  }
  return { deviation: Math.sqrt((scatter * factor) ** 2 + more * more), words };
}

/** Time and relative standard deviation by parameters, of one explanation. */
export function spreadOf(
  knowledge: Knowledge,
  explanation: KnownExplanation,
  spec: PointSpec,
): { seconds: number; deviation: number } {
  const compiled = compiledOf(knowledge, explanation.values, spec);
  const { values, moves } = explanation;
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
  const { deviation: own, words } = outside(kind, spec);
  const inPlay = knowledge.explanations.filter((e) => words.length > 0 || e.supported);
  const quantile = studentQuantile(confidence, kind.degrees);
  const spreads = inPlay.map((explanation) => spreadOf(knowledge, explanation, spec));
  const halves = spreads.map(({ deviation }) => quantile * Math.sqrt(deviation ** 2 + own ** 2));
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
