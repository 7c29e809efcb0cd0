/** The sentence that decides: agrees, differs by how much and why, or not decidable and what would. */
import type { Finding } from '../../model/finding.ts';
import type {
  FittedUnknown,
  ReconciledPoint,
  Reconciliation,
  Together,
} from '../../model/reconcile.ts';
import { formatPercent, formatRate, formatSize } from '../../quantity/index.ts';
import { type PointNetwork, type PointNetworks, rated } from '../point-case.ts';
import { cornerWith } from './explain.ts';
import { predictPoint, rateAt } from './predict.ts';
import type { PredictedPoint } from './predicted.ts';
import type { Reconciled } from './reconcile.ts';
import { modelValue, unknownsOf } from './unknowns.ts';

type Verdict = Reconciliation['verdict'];

/** An unknown explains all when it leaves at most this part of the residual, or this residual. */
const LEFT_OF = 1 / 3;
const LEFT = 0.02;

/** What the compared traffic and the open questions add to a verdict on points. */
export interface Beside {
  readonly findings: readonly Finding[];
  readonly unusedRows: number;
  readonly traffic: Reconciliation['traffic'];
}

export function verdictOf(
  { points, together, predicted }: Reconciled,
  networks: PointNetworks,
  beside: Beside,
): Verdict {
  const compared = beside.traffic.flatMap((t) => t.directions.flatMap((d) => d.compared ?? []));
  if (points.length === 0 && compared.length === 0) return undecidable(beside);
  const standings = [...points, ...compared].map((p) => p.standing);
  const impossible = points.filter((p) => p.standing === 'impossible as stated');
  const off = standings.filter((s) => s !== 'within').length;
  const restless = together.filter((t) => t.unknowns.length > 0);
  const why = restless.map(becauseOf);
  const next = decideBy(restless, predicted, networks);
  if (off === 0) return agreement(standings.length, together, why, next, beside);
  const lead = `differs in ${off} of ${counted(standings.length, 'point')}: ${spanOf(points)}`;
  const stated = impossible.length > 0 ? impossibleText(impossible) : [];
  const trafficOff = compared.filter((t) => t.standing !== 'within');
  const packets = trafficOff.map(
    (t) =>
      `packets of ${t.stream} carry ${formatRate(t.rate)} of ${formatRate(t.asked)} asked for, where ` +
      `${formatRate(t.predicted.low)} to ${formatRate(t.predicted.high)} are predicted`,
  );
  const strange = unexplained(points, together) || trafficOff.length > 0;
  const none = strange && why.length === 0 ? ['no single unknown explains it'] : [];
  return {
    level: impossible.length > 0 || strange ? 'stop' : 'caution',
    standing: 'differs',
    summary: [lead, ...stated, ...why, ...packets, ...none].join('; '),
    decide: impossible.length > 0 ? decideImpossible(impossible) : next,
  };
}

function undecidable({ findings, unusedRows }: Beside): Verdict {
  const open = findings.find((f) => f.level === 'unknown' && f.id.startsWith('evidence'));
  const rows = unusedRows > 0 ? `${counted(unusedRows, 'row')} could not be used` : 'no usable row';
  const why = open ? `: ${open.subject} ${open.message}` : '';
  return {
    level: 'unknown',
    standing: 'not decidable',
    summary: `not decidable: ${rows}${why}`,
    decide: open?.next ?? 'give a size, a direction, and a time or rate of each transfer',
  };
}

function agreement(
  count: number,
  together: readonly Together[],
  why: readonly string[],
  next: string,
  { unusedRows }: Beside,
): Verdict {
  const worst = Math.max(0, ...together.map((t) => t.residual));
  const lead = count === 1 ? 'the point lies within' : `all ${counted(count, 'point')} lie within`;
  const unused = unusedRows > 0 ? [`${counted(unusedRows, 'row')} could not be used`] : [];
  const off = worst > 0 ? [`expected is ${formatPercent(worst)} off`] : [];
  return {
    level: unusedRows > 0 ? 'caution' : 'ok',
    standing: 'agrees',
    summary: `agrees: ${[`${lead} what is predicted`, ...off, ...why, ...unused].join('; ')}`,
    decide: why.length > 0 ? next : '',
  };
}

function counted(count: number, one: string): string {
  return `${count} ${one}${count === 1 ? '' : 's'}`;
}

/** Points outside, by their greatest difference either way. */
function spanOf(points: readonly ReconciledPoint[]): string {
  const outside = points.filter((p) => p.standing !== 'within');
  const worst = outside.reduce<ReconciledPoint | undefined>(
    (a, b) => (a && Math.abs(a.difference) >= Math.abs(b.difference) ? a : b),
    undefined,
  );
  if (worst === undefined) return 'packets beside the prediction';
  const { measured, predicted, difference, stream, sizeBytes } = worst;
  const way = difference < 0 ? 'less' : 'more';
  const most = outside.length > 1 ? 'at most ' : '';
  return (
    `${most}${formatPercent(Math.abs(difference))} ${way} than expected (${stream}, ` +
    `${formatSize(sizeBytes)}: ${formatRate(measured.median)} for ${formatRate(predicted.expected)})`
  );
}

/** The best unknown, what it leaves, what does as well, and the shape. */
function becauseOf(t: Together): string {
  const best = t.unknowns[0]!;
  const stated = best.inRange ? 'which may be so' : `stated is ${best.stated}`;
  const left = `${formatPercent(best.residual)} of the ${formatPercent(t.residual)}`;
  const lead = explains(t)
    ? `${t.kind}s of ${t.stream} fit ${best.name} of ${best.text}, ${stated}`
    : `no single unknown explains the ${t.kind}s of ${t.stream}; nearest comes ${best.name} of ` +
      `${best.text}, ${stated}`;
  const also = t.unknowns.slice(1, t.tied).map((u) => `${u.name} of ${u.text}`);
  const ties = also.length > 0 ? `; as well as ${also.slice(0, 3).join(', or ')}` : '';
  return `${lead} (leaves ${left})${ties}${t.shape ? `; ${t.shape.text}` : ''}`;
}

/** True where the best unknown brings the prediction near to the points. */
function explains({ unknowns, residual }: Together): boolean {
  const best = unknowns[0];
  return best !== undefined && best.residual <= Math.max(LEFT, residual * LEFT_OF);
}

/** True where points lie outside and no unknown brings the prediction near to them. */
function unexplained(points: readonly ReconciledPoint[], together: readonly Together[]): boolean {
  return together.some((t) => {
    const own = points.filter((p) => p.stream === t.stream && p.kind === t.kind);
    if (
      !own.some((p) => p.standing === 'below expectation' || p.standing === 'above expectation')
    ) {
      return false;
    }
    return !explains(t);
  });
}

function impossibleText(points: readonly ReconciledPoint[]): string[] {
  const [first] = points;
  const { measured, ceiling, possibleWith } = first!;
  const change = possibleWith[0] ? `, possible with ${possibleWith[0].change}` : '';
  return [
    `${counted(points.length, 'point')} impossible as stated (${formatRate(measured.median)} above ` +
      `the ceiling of ${formatRate(ceiling)}${change})`,
  ];
}

function decideImpossible(points: readonly ReconciledPoint[]): string {
  const found = new Map<string, number>();
  for (const { possibleWith } of points) {
    for (const { change } of possibleWith) found.set(change, (found.get(change) ?? 0) + 1);
  }
  const all = [...found].filter(([, count]) => count === points.length).map(([change]) => change);
  if (all.length === 0) return 'check units and settings of the points above the ceiling';
  return `check which holds: ${all.slice(0, 3).join(', or ')}`;
}

/** What to ask of the best unknown; where others do as well, the transfer at which they part. */
function decideBy(
  restless: readonly Together[],
  predicted: readonly PredictedPoint[],
  networks: PointNetworks,
): string {
  const [t] = restless;
  if (t === undefined) return 'measure transfers of other sizes';
  const [best, second] = t.unknowns;
  const like = predicted.find((p) => p.point.stream === t.stream && p.point.kind === t.kind)!;
  if (second !== undefined && t.tied > 1) {
    const parting = partingSize(best!, second, like, networks);
    if (parting !== undefined) return parting;
    return `${best!.ask}; or ${second.ask}`;
  }
  return best!.ask;
}

/** Bytes per second with a fitted unknown at its value. */
function rateWith(at: PointNetwork, { id, value }: FittedUnknown): number {
  const unknown = unknownsOf(at.network).find((u) => u.id === id);
  if (unknown === undefined) return predictPoint(at).rates.expected;
  return rateAt(at.network, cornerWith(at.network, unknown, modelValue(unknown, value)));
}

/** Sizes at which two explanations could be told apart, bytes. */
const sizes = Array.from({ length: 15 }, (_, i) => 64 * 2 ** i);
/** Rates must part by this much, or a measurement tells nothing. */
const PARTS = 1.05;

function partingSize(
  a: FittedUnknown,
  b: FittedUnknown,
  like: PredictedPoint,
  networks: PointNetworks,
): string | undefined {
  let best: { ratio: number; text: string } | undefined;
  for (const sizeBytes of sizes) {
    const { sizeAssumed: _, ...point } = like.point;
    const at = networks.at({ ...point, sizeBytes, place: like.point.places[0]! });
    if (at === undefined) continue;
    const rates = rated(() => [a, b].map((u) => rateWith(at, u)));
    if (typeof rates === 'string') continue;
    const [one, other] = rates as [number, number];
    const ratio = Math.max(one / other, other / one);
    if (ratio < PARTS || (best && best.ratio >= ratio)) continue;
    const text =
      `measure ${like.point.kind}s of ${formatSize(sizeBytes)}: ${formatRate(one)} would speak for ` +
      `${a.name}, ${formatRate(other)} for ${b.name}`;
    best = { ratio, text };
  }
  return best?.text;
}
