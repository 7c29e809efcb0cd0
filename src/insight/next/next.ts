/**
 * What to measure next: of a ladder of sizes, kinds and settings the transfer whose measurement is
 * expected to narrow a wanted prediction most. The error of the target after one more observation is that
 * of first order, as `errorAfter` has it; explanations that differ there count by how far they do.
 */
import { covarianceOf, withObservation } from '../../numeric/fit/precision.ts';
import { studentQuantile } from '../../numeric/student.ts';
import { exactQuantity, rational } from '../../quantity/index.ts';
import type { TimingSettings } from '../../readers/index.ts';
import { payloadLimit } from '../../system/nodes.ts';
import type { KindKnowledge, Knowledge, KnownExplanation } from '../calibrate/knowledge.ts';
import type { Kind } from '../calibrate/parameters.ts';
import { exactAt, outside } from '../calibrate/predict.ts';
import { keyOf, linkText, type PointSpec } from '../point-model.ts';

/** A measurement that could be made, and what it would bring. */
export interface NextMeasurement {
  readonly spec: PointSpec;
  readonly link: string;
  /** Relative half width of the target's 90 % range now, and expected after it. */
  readonly before: number;
  readonly after: number;
  /** Pairs of explanations that it would tell apart: they differ there by twice its scatter or more. */
  readonly separates: readonly (readonly [string, string])[];
}

/** Settings that the system could be put to, besides those it has. */
function otherSettings(knowledge: Knowledge): TimingSettings[] {
  const payload = payloadLimit(knowledge.case).bytes;
  const half = payload / 2;
  const found: TimingSettings[] = [];
  if (half >= 128) {
    found.push({ Max_Payload_Size: exactQuantity('size', rational(8 * half), `${half} B`) });
  }
  return found;
}

const ladderMost = 1 << 20;
/** Kinds of transfers that the streams of the case make, each by its first stream. */
function kindsOf(knowledge: Knowledge): { kind: Kind; streamIndex: number }[] {
  const found = new Map<Kind, number>();
  knowledge.case.streams.forEach((stream, i) => {
    if ((stream.moved_by?.value ?? 'module') !== 'module') return;
    const kind = stream.direction.value === 'to host' ? 'write' : 'read';
    if (!found.has(kind)) found.set(kind, i);
  });
  return [...found].map(([kind, streamIndex]) => ({ kind, streamIndex }));
}

/** Powers of two from 64 B on, and one byte over every packet boundary that a device may step at. */
function sizesOf(knowledge: Knowledge, target: PointSpec): number[] {
  const payload = payloadLimit(knowledge.case).bytes;
  const sizes = new Set([payload + 1, 2 * payload + 1, 65, 129, target.sizeBytes]);
  for (let size = 64; size <= Math.max(ladderMost, target.sizeBytes); size *= 4) sizes.add(size);
  return [...sizes].sort((a, b) => a - b);
}

/** Candidates that were not measured yet. */
export function candidatesOf(
  knowledge: Knowledge,
  target: PointSpec,
  measured: readonly PointSpec[],
): PointSpec[] {
  const known = new Set(measured.map(keyOf));
  const found: PointSpec[] = [];
  for (const { kind, streamIndex } of kindsOf(knowledge)) {
    const direction = kind === 'write' ? 'to host' : 'from host';
    const at = { kind, streamIndex, direction, place: target.place } as const;
    for (const sizeBytes of sizesOf(knowledge, target)) {
      found.push({ ...at, sizeBytes, settings: {} });
    }
    for (const settings of otherSettings(knowledge)) {
      for (const sizeBytes of [4096, target.sizeBytes]) found.push({ ...at, sizeBytes, settings });
    }
  }
  const distinct = new Map(found.map((spec) => [keyOf(spec), spec]));
  return [...distinct.values()].filter((spec) => !known.has(keyOf(spec)));
}

/** One explanation at one transfer. */
interface Seen {
  readonly seconds: number;
  /** Relative slopes by the explanation's keys. */
  readonly slopes: readonly number[];
}

const sharp = 9;

function seenAt(knowledge: Knowledge, explanation: KnownExplanation, spec: PointSpec): Seen {
  const compiled = exactAt(knowledge, explanation, spec);
  const { seconds, slopes } = compiled.smooth(explanation.values, explanation.keys, sharp);
  return { seconds, slopes: slopes.map((s) => s / seconds) };
}

/** Error of a kind that was not measured yet, and its degrees of freedom. */
const unmeasured = { scatter: 0.05, degrees: 3 } as const;

function deviationAt(knowledge: Knowledge, kind: KindKnowledge | undefined, spec: PointSpec) {
  return kind ? outside(knowledge, kind, spec).deviation : unmeasured.scatter;
}

/** The kind as it would be with one more size measured. */
function withSize(kind: KindKnowledge | undefined, spec: PointSpec): KindKnowledge | undefined {
  if (!kind) return undefined;
  const { low, high } = kind.sizes;
  const { sizeBytes } = spec;
  return {
    ...kind,
    measured: [...kind.measured, sizeBytes],
    sizes: { low: Math.min(low, sizeBytes), high: Math.max(high, sizeBytes) },
  };
}

/**
 * The measurements that narrow the target most, best first.
 *
 * @param target the transfer whose rate is asked
 * @param measured what was measured already
 * @param most how many to give
 */
export function nextMeasurements(
  knowledge: Knowledge,
  target: PointSpec,
  measured: readonly PointSpec[],
  most = 3,
): NextMeasurement[] {
  const { explanations, kinds } = knowledge;
  const aims = explanations.map((e) => seenAt(knowledge, e, target));
  const apart = aims.map(({ seconds }) => seconds / aims[0]!.seconds - 1);
  const own = kinds[target.kind];
  const quantile = studentQuantile(0.9, own?.degrees ?? unmeasured.degrees);
  const within = (e: KnownExplanation, k: number, precision = e.precision) =>
    covarianceOf(precision, 1, aims[k]!.slopes);
  const total = (parameters: readonly number[], between: readonly number[], model: number) => {
    const mean = parameters.reduce((sum, v) => sum + v, 0) / parameters.length;
    const spread = between.reduce((sum, v) => sum + v, 0) / between.length;
    return quantile * Math.sqrt(mean + spread + model * model);
  };
  const before = total(
    explanations.map((e, k) => within(e, k)),
    apart.map((d) => d * d),
    deviationAt(knowledge, own, target),
  );
  const found = candidatesOf(knowledge, target, measured).map((spec): NextMeasurement => {
    const deviation = deviationAt(knowledge, kinds[spec.kind], spec);
    const seen = explanations.map((e) => seenAt(knowledge, e, spec));
    const after = explanations.map((e, k) => {
      const row = seen[k]!.slopes.map((s) => s / deviation);
      return within(e, k, withObservation(e.precision, row));
    });
    // An explanation stays in play only as far as this measurement could not tell it from the chosen one.
    const left = apart.map((d, k) => {
      const differs = (seen[k]!.seconds / seen[0]!.seconds - 1) / deviation;
      return (d * d) / (1 + differs * differs);
    });
    const kind = spec.kind === target.kind ? withSize(own, spec) : own;
    const model = deviationAt(knowledge, kind, target);
    return {
      spec,
      link: linkText(knowledge.case, spec),
      before,
      after: total(after, left, model),
      separates: toldApart(explanations, seen, deviation),
    };
  });
  // Ties are common: the smaller transfer is the quicker one to measure.
  const order = (n: NextMeasurement) => Math.round((n.after / before) * 1000);
  const best = found
    .filter(({ after }) => after < before * 0.99)
    .sort((a, b) => order(a) - order(b) || a.spec.sizeBytes - b.spec.sizeBytes)
    .slice(0, most);
  if (best.some(({ separates }) => separates.length > 0)) return best;
  // None of them tells explanations apart: the one that tells most of them is worth its place.
  const telling = found.reduce<NextMeasurement | undefined>(
    (all, n) => (n.separates.length > (all?.separates.length ?? 0) ? n : all),
    undefined,
  );
  return telling ? [...best.slice(0, most - 1), telling] : best;
}

/** Pairs with the chosen explanation that differ there by twice what a measurement scatters. */
function toldApart(
  explanations: readonly KnownExplanation[],
  seen: readonly Seen[],
  deviation: number,
): [string, string][] {
  return explanations.flatMap(({ name }, k): [string, string][] => {
    if (k === 0) return [];
    const differs = Math.abs(seen[k]!.seconds / seen[0]!.seconds - 1);
    return differs >= 2 * deviation ? [[explanations[0]!.name, name]] : [];
  });
}
