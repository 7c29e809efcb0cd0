/** Which requirement of the case's specification is shown, by what; what is not shown says so. */
import type { Answer, StreamAnswer } from '../../model/answer.ts';
import { type Level, worse } from '../../model/finding.ts';
import type { Compliance, ComplianceRow } from '../../model/owed.ts';
import type { ReconciledPoint, Reconciliation } from '../../model/reconcile.ts';
import { formatRate, formatSize } from '../../quantity/index.ts';
import type { Case, Requirement } from '../../system/case.ts';

/** What the answer holds of the thing a requirement is about. */
interface Found {
  readonly level: Level;
  readonly evidence: readonly string[];
  readonly streams: readonly StreamAnswer[];
}

const byAnalysis: Readonly<Record<Level, Compliance>> = {
  ok: 'met',
  caution: 'met with caution',
  unknown: 'not decided',
  stop: 'not met',
};

/** A row for each requirement, in the order of the case. */
export function complianceRows(
  c: Case,
  answer: Answer,
  taken: Reconciliation | undefined,
): ComplianceRow[] {
  return (c.requirements ?? []).map((r) => rowOf(r, answer, taken));
}

function rowOf(
  { id, text, about, method = 'analysis' }: Requirement,
  answer: Answer,
  taken: Reconciliation | undefined,
): ComplianceRow {
  const found = find(about, answer);
  const head = { id, text, about, method };
  if (found === undefined) {
    const looked = `the answer holds nothing called ${about}`;
    return { ...head, shown: 'not shown', evidence: [looked] };
  }
  const { level, evidence } = found;
  const analysed = byAnalysis[level];
  if (method === 'analysis' || level === 'stop') {
    return { ...head, shown: analysed, level, evidence };
  }
  const together = (answer.rate?.streams.length ?? 0) > 1;
  const tested = method === 'test' ? testOf(found.streams, taken, together) : undefined;
  const shown = tested?.shown ?? 'owed';
  const owed = tested ? tested.evidence : [`the ${method} is owed; analysis says ${level}`];
  return { ...head, shown, level, evidence: [...owed, ...evidence] };
}

/** Everything of that name: `fit`, `rate`, a stream, a finding, or all findings of a rule. */
function find(about: string, answer: Answer): Found | undefined {
  const { fit, rate, verdict } = answer;
  const all = fit?.findings ?? [];
  const findings = all.filter(({ id }) => id === about || id.startsWith(`${about}/`));
  const streams =
    about === 'rate'
      ? (rate?.streams ?? [])
      : (rate?.streams ?? []).filter(({ name }) => name === about);
  const levels: Level[] = [...findings, ...streams].map(({ level }) => level);
  const evidence = [
    ...findings.map((f) => `${f.id}: ${f.message} (${f.level})`),
    ...streams.map((s) => `stream ${s.name}: ${s.message} (${s.level})`),
  ];
  if (about === 'fit' && verdict.fits !== undefined) {
    levels.push(verdict.fits);
    const open = all.filter(({ level }) => level !== 'ok');
    const ids = open.map(({ id, level }) => `${id} (${level})`).join(', ');
    evidence.push(`${all.length} findings, ${open.length} of them not ok${ids && `: ${ids}`}`);
  }
  if (levels.length === 0) return undefined;
  return { level: levels.reduce<Level>(worse, 'ok'), evidence, streams };
}

/**
 * What measured points say of some streams: the worst of them, and nothing where one has none. A point
 * is a stream alone: where several run at once it cannot show more than `met with caution`.
 */
function testOf(
  streams: readonly StreamAnswer[],
  taken: Reconciliation | undefined,
  together: boolean,
): { shown: Compliance; evidence: string[] } | undefined {
  if (streams.length === 0 || taken === undefined) return undefined;
  const tested = streams.map((stream) => ({ stream, point: largestPoint(stream, taken) }));
  const open = tested.filter(({ point }) => point === undefined);
  const evidence = tested.flatMap(({ stream, point }) =>
    point ? [testWords(stream, point)] : [`stream ${stream.name}: not measured`],
  );
  if (open.length > 0) return { shown: 'owed', evidence };
  const order: Compliance[] = ['met', 'met with caution', 'not decided', 'not met'];
  const worst = tested
    .map(({ stream, point }) => order.indexOf(shownBy(stream, point!)))
    .reduce((a, b) => Math.max(a, b), together ? 1 : 0);
  return { shown: order[worst]!, evidence };
}

/** The measured transfer nearest to sustained flow: the largest one. */
function largestPoint(
  { name, direction }: StreamAnswer,
  { points }: Reconciliation,
): ReconciledPoint | undefined {
  const own = points.filter((p) => p.stream === name && p.direction === direction);
  return own.reduce<ReconciledPoint | undefined>(
    (a, b) => (a && a.sizeBytes >= b.sizeBytes ? a : b),
    undefined,
  );
}

function shownBy({ required, askedHeadroom }: StreamAnswer, point: ReconciledPoint): Compliance {
  if (point.standing === 'impossible as stated') return 'not decided';
  if (point.measured.median >= required * (1 + askedHeadroom)) return 'met';
  return point.measured.median >= required ? 'met with caution' : 'not met';
}

function testWords({ name, required }: StreamAnswer, point: ReconciledPoint): string {
  const of = point.sizeAssumed
    ? 'its own transfers'
    : `transfers of ${formatSize(point.sizeBytes)}`;
  const impossible = point.standing === 'impossible as stated' ? ', impossible as stated' : '';
  return (
    `stream ${name}: ${formatRate(point.measured.median)} measured alone with ${of}, ` +
    `${formatRate(required)} required${impossible}`
  );
}
