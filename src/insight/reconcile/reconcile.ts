/** Points beside the prediction: each by itself, then all of one stream and kind together. */
import type { Finding } from '../../model/finding.ts';
import type { DifferenceLedger, ReconciledPoint, Together } from '../../model/reconcile.ts';
import { bytes, formatSize } from '../../quantity/index.ts';
import type { Case } from '../../system/case.ts';
import { type PointNetworks, rated } from '../point-case.ts';
import type { MeasuredPoint } from '../points.ts';
import { explainPoint, rounded } from './explain.ts';
import { possibleChanges, type SettingChanges } from './possible.ts';
import { predictPoint, transferLedger } from './predict.ts';
import { measuredRate, measuredSeconds, type PredictedPoint } from './predicted.ts';
import { shapeOf } from './shape.ts';
import { standingOf } from './standing.ts';
import { explainTogether } from './together.ts';

/** Most points rated, explained one by one, and fitted together: beyond, one is like another. */
export const POINTS_MOST = 1000;
const EXPLAINED_MOST = 100;
const FITTED_MOST = 40;
/** Most places of a point in the document. */
const PLACES_MOST = 16;

/** Everything that points say about a case. */
export interface Reconciled {
  readonly points: readonly ReconciledPoint[];
  readonly pointsLeftOut: number;
  readonly together: readonly Together[];
  readonly findings: readonly Finding[];
  /** For the measurement that would decide: what was predicted of each point, in the order above. */
  readonly predicted: readonly PredictedPoint[];
}

/** @param changesOf settings that could be otherwise, for points above their ceiling */
export function reconcilePoints(
  c: Case,
  all: readonly MeasuredPoint[],
  networks: PointNetworks,
  changesOf: SettingChanges,
): Reconciled {
  const every = Math.max(1, Math.ceil(all.length / POINTS_MOST));
  const kept = all.filter((_, i) => i % every === 0);
  const findings: Finding[] = [];
  const predicted = kept.flatMap((point): PredictedPoint[] => {
    const conditions = { ...point, place: point.places[0]! };
    const at = networks.at(conditions);
    // Its worst case may be one that the model refuses, such as fewer credits than a packet takes.
    const prediction = at ? rated(() => predictPoint(at)) : networks.whyNot(conditions)!;
    if (at === undefined || typeof prediction === 'string') {
      findings.push(notRated(point, String(prediction)));
      return [];
    }
    return [{ point, at, prediction, measured: measuredRate(point) }];
  });
  findings.push(...beyondParts(predicted, c));
  const farthest = farthestOff(predicted);
  const points = predicted.map((p) => reconciled(p, farthest.has(p), changesOf));
  return {
    points,
    pointsLeftOut: all.length - kept.length,
    together: togetherOf(predicted, points),
    findings,
    predicted,
  };
}

/** The points whose difference is taken apart one by one: those farthest from what is expected. */
function farthestOff(points: readonly PredictedPoint[]): ReadonlySet<PredictedPoint> {
  const far = ({ measured, prediction }: PredictedPoint) => {
    const ratio = measured.median / prediction.rates.expected;
    return Math.max(ratio, 1 / ratio);
  };
  const order = points.map((p) => ({ p, far: far(p) })).sort((a, b) => b.far - a.far);
  return new Set(order.slice(0, EXPLAINED_MOST).map(({ p }) => p));
}

function reconciled(
  p: PredictedPoint,
  explain: boolean,
  changesOf: SettingChanges,
): ReconciledPoint {
  const { point, at, prediction, measured } = p;
  const { rates } = prediction;
  const standing = standingOf(measured, rates, at.ceiling);
  const impossible = standing === 'impossible as stated';
  const explainedBy = explain && !impossible ? explainPoint(at, prediction, measured) : [];
  const { stream, direction, kind, conditions, places, reference, sizeAssumed } = point;
  return {
    stream,
    direction,
    kind,
    sizeBytes: prediction.bytes,
    ...(sizeAssumed && { sizeAssumed }),
    settings: settingWords(point),
    conditions,
    places: places.slice(0, PLACES_MOST),
    ...(reference !== undefined && { reference }),
    repeats: point.spread.count,
    measured: { low: measured.low, median: measured.median, high: measured.high },
    predicted: rates,
    ceiling: at.ceiling,
    standing,
    difference: rounded(measured.median / rates.expected - 1),
    ledger: differenceLedger(
      p,
      explainedBy.flatMap((e) => (e.account ? [e.account] : [])),
    ),
    explainedBy,
    possibleWith: impossible ? possibleChanges(point, at, changesOf) : [],
  };
}

function differenceLedger(
  p: PredictedPoint,
  accounts: readonly DifferenceLedger['restIn'][number][],
): DifferenceLedger {
  const { hop, direction, seconds, accounts: predicted } = transferLedger(p.prediction.center);
  const measured = measuredSeconds(p);
  return {
    hop,
    direction,
    predicted: predicted.map((a) => ({ ...a, seconds: rounded(a.seconds) })),
    predictedSeconds: rounded(seconds),
    measuredSeconds: rounded(measured),
    restSeconds: rounded(measured - seconds),
    restIn: [...new Set(accounts)],
  };
}

function settingWords({ settings }: MeasuredPoint): string[] {
  const { Max_Payload_Size, Max_Read_Request_Size, Read_Completion_Boundary, width, generation } =
    settings;
  const size = (name: string, q: typeof Max_Payload_Size) =>
    q ? [`${name} ${formatSize(bytes(q))}`] : [];
  return [
    ...size('Max_Payload_Size', Max_Payload_Size),
    ...size('Max_Read_Request_Size', Max_Read_Request_Size),
    ...size('Read_Completion_Boundary', Read_Completion_Boundary),
    ...(generation ? [`generation ${generation}`] : []),
    ...(width ? [`x${width}`] : []),
    ...(settings.host ? [`host ${settings.host}`] : []),
  ];
}

/** One entry for each stream and kind, in the order of the points. */
function togetherOf(
  predicted: readonly PredictedPoint[],
  points: readonly ReconciledPoint[],
): Together[] {
  const groups = new Map<string, PredictedPoint[]>();
  predicted.forEach((p, i) => {
    if (points[i]!.standing === 'impossible as stated') return;
    const key = JSON.stringify([p.point.stream, p.point.kind]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [p]);
    else group.push(p);
  });
  return [...groups.values()].map((group): Together => {
    const fitted = spreadOver(group);
    const { residual, unknowns, tied } = explainTogether(fitted);
    const shapes = residual > NOISE ? shapeOf(fitted) : { others: [] };
    const { stream, kind } = group[0]!.point;
    return {
      stream,
      kind,
      fitted: fitted.length,
      points: group.length,
      residual: rounded(residual),
      unknowns:
        residual > NOISE ? unknowns.map((u) => ({ ...u, residual: short(u.residual) })) : [],
      tied: residual > NOISE ? tied : 0,
      ...(shapes.shape && { shape: { ...shapes.shape, residual: short(shapes.shape.residual) } }),
      otherShapes: shapes.others.map((s) => ({ ...s, residual: short(s.residual) })),
    };
  });
}

/** Below this residual there is nothing to explain: timings repeat no better. */
const NOISE = 0.005;

/** A residual to a millionth: what is finer depends on how the fit ended. */
function short(residual: number): number {
  return Math.round(residual * 1e6) / 1e6;
}

/** At most the number that is fitted, evenly over the sizes. */
function spreadOver(group: readonly PredictedPoint[]): readonly PredictedPoint[] {
  if (group.length <= FITTED_MOST) return group;
  const sorted = [...group].sort((a, b) => a.prediction.bytes - b.prediction.bytes);
  return Array.from({ length: FITTED_MOST }, (_, i) => {
    const at = Math.round((i * (sorted.length - 1)) / (FITTED_MOST - 1));
    return sorted[at]!;
  });
}

function notRated(point: MeasuredPoint, why: string): Finding {
  const { file, line } = point.places[0]!;
  return {
    id: 'reconcile-link',
    level: 'unknown',
    subject: `${file}:${line}`,
    message: `what this row states cannot be rated: ${why}`,
    values: [],
    clause: 'PCI Express Base Specification 6.3',
    basis: 'standard',
    next: 'check width, generation and payload size of the row',
  };
}

/** Settings that the evidence states and the parts of the case do not allow, each once. */
function beyondParts(points: readonly PredictedPoint[], c: Case): Finding[] {
  const said = new Map<string, Finding>();
  for (const { point } of points) {
    const { settings, places } = point;
    const ends = [c.module.pcie, c.host?.pcie].filter((p) => p !== undefined);
    const beyond: string[] = [];
    const { width, generation, Max_Payload_Size } = settings;
    if (width && ends.some((p) => p.width.value < width)) beyond.push(`x${width}`);
    if (generation && ends.some((p) => p.generation.value < generation)) {
      beyond.push(`generation ${generation}`);
    }
    if (
      Max_Payload_Size &&
      ends.some((p) => bytes(p.Max_Payload_Size.value) < bytes(Max_Payload_Size))
    ) {
      beyond.push(`Max_Payload_Size ${formatSize(bytes(Max_Payload_Size))}`);
    }
    for (const text of beyond) {
      if (said.has(text)) continue;
      said.set(text, {
        id: 'reconcile-setting',
        level: 'caution',
        subject: text,
        message: `${places[0]!.file}:${places[0]!.line} states it, a part of the case does not allow it; it is taken as measured`,
        values: [],
        clause: 'common practice, no source',
        basis: 'practice',
        next: 'check that the case names the parts that were measured',
      });
    }
  }
  return [...said.values()];
}
