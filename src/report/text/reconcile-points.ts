/** Points of a reconciliation as text: the table, where the rest goes, and what would be possible. */

import { accountTitle } from '../../figures/shares.ts';
import type { PointExplanation, ReconciledPoint, Standing } from '../../model/reconcile.ts';
import { formatRate, formatSize, formatTime } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { directionText, signedPercent } from '../words.ts';
import type { Page } from './page.ts';

/** Most points in the table, those farthest off first chosen; the document has all. */
const POINTS_MOST = 40;
/** Most points whose difference is taken apart. */
const TAKEN_APART = 3;

const standingWords: Readonly<Record<Standing, string>> = {
  within: 'within',
  'above expectation': 'above',
  'below expectation': 'below',
  'impossible as stated': 'impossible',
};

/** How far a point is off, in times: half and twice are alike. */
function farness({ difference }: ReconciledPoint): number {
  return Math.max(1 + difference, 1 / (1 + difference));
}

/** Indexes of the points farthest off, in the order of the document. */
function farthest(points: readonly ReconciledPoint[], most: number): readonly ReconciledPoint[] {
  const order = points.map((p, i) => ({ i, far: farness(p) }));
  order.sort((a, b) => b.far - a.far || a.i - b.i);
  const kept = new Set(order.slice(0, most).map(({ i }) => i));
  return points.filter((_, i) => kept.has(i));
}

function what(p: ReconciledPoint): string {
  const conditions = Object.entries(p.conditions).map(([name, value]) => `${name} ${value}`);
  const repeats = p.repeats > 1 ? [`${p.repeats} times`] : [];
  const size = p.sizeAssumed ? 'size not stated' : formatSize(p.sizeBytes);
  return [size, ...p.settings, ...conditions, ...repeats].join(', ');
}

/** The table of points, a part of it for each stream and kind. */
export function writePoints(page: Page, points: readonly ReconciledPoint[]): void {
  if (points.length === 0) return;
  page.heading(`Points: ${points.length}`);
  const shown = farthest(points, POINTS_MOST);
  const groups = new Map<string, ReconciledPoint[]>();
  for (const p of shown) {
    const title = `${cleanText(p.stream)}, ${p.kind}s, ${p.direction}`;
    groups.set(title, [...(groups.get(title) ?? []), p]);
  }
  for (const [title, own] of groups) {
    page.space();
    page.paragraph(title);
    page.table(
      [
        { title: 'transfer', least: 10 },
        ...['measured', 'low', 'expected', 'high', 'ceiling', 'off'].map((name) => ({
          title: name,
          align: 'right' as const,
        })),
        { title: 'stands', least: 6 },
      ],
      own.map((p) => [
        what(p),
        ...[
          p.measured.median,
          p.predicted.low,
          p.predicted.expected,
          p.predicted.high,
          p.ceiling,
        ].map(shortRate),
        signedPercent(p.difference),
        standingWords[p.standing],
      ]),
    );
  }
  page.space();
  page.paragraph('rates in MB/s, 10^6 bytes a second');
  const left = points.length - shown.length;
  if (left > 0) page.paragraph(`${left} points nearer to expected are in --json`);
}

/** MB/s without its unit, which the table states once. */
function shortRate(rate: number): string {
  const text = formatRate(rate);
  const [number = text, unit] = text.split(/[ \u00a0]/);
  const scale = { 'GB/s': 1e3, 'kB/s': 1e-3, 'B/s': 1e-6 }[unit ?? ''] ?? 1;
  return scale === 1 ? number : String(Number((Number(number) * scale).toPrecision(4)));
}

/** For the points farthest off: the ledger of one transfer, and what is left over. */
export function writeRest(page: Page, points: readonly ReconciledPoint[]): void {
  const off = points.filter((p) => p.explainedBy.length > 0 || p.standing !== 'within');
  const shown = farthest(
    off.filter((p) => p.standing !== 'impossible as stated'),
    TAKEN_APART,
  );
  if (shown.length === 0) return;
  page.heading('Where the time of one transfer goes');
  for (const p of shown) writeLedger(page, p);
}

function writeLedger(page: Page, p: ReconciledPoint): void {
  const { hop, direction, predicted, predictedSeconds, measuredSeconds, restSeconds } = p.ledger;
  page.space();
  const where = `${cleanText(hop)}, ${directionText(direction)}`;
  page.paragraph(`${cleanText(p.stream)}, ${what(p)}: ${where}`);
  const sum = `predicted ${formatTime(predictedSeconds)}, measured ${formatTime(measuredSeconds)}`;
  page.labelled('time', sum, 2, 8);
  const accounts = predicted.map((a) => `${accountTitle(a.account)} ${formatTime(a.seconds)}`);
  page.labelled('goes to', accounts.join(', '), 2, 8);
  const size = formatTime(Math.abs(restSeconds));
  const way = restSeconds < 0 ? 'less' : 'more';
  const homes = p.ledger.restIn.slice(0, 4).map((a) => accountTitle(a));
  const home = homes.length > 0 ? `: in ${homes.join(', or ')}` : ': in no account that is known';
  page.labelled('rest', `${size} ${way}${home}`, 2, 8);
  const known = p.explainedBy.filter((e) => e.inRange);
  const causes = (known.length > 0 ? known : p.explainedBy).slice(0, 3);
  page.labelled('alone', causes.map(causeText).join('; or '), 2, 8);
}

function causeText({ name, text, stated, inRange }: PointExplanation): string {
  return `${cleanText(name)} of ${text} (${inRange ? 'within' : 'stated'} ${cleanText(stated)})`;
}

/** Points above their ceiling, those with the same way out together. */
export function writeImpossible(page: Page, points: readonly ReconciledPoint[]): void {
  const above = points.filter((p) => p.standing === 'impossible as stated');
  if (above.length === 0) return;
  page.heading('Impossible as stated');
  for (const p of above.slice(0, 10)) {
    page.space();
    const rate = `${formatRate(p.measured.median)}, ceiling ${formatRate(p.ceiling)}`;
    page.paragraph(`${cleanText(p.stream)}, ${what(p)}: ${rate}`);
    const none = 'no single change of unit or setting makes it possible';
    if (p.possibleWith.length === 0) page.labelled('change', none, 2, 8);
    for (const change of p.possibleWith) {
      const as = change.kind === 'unit' ? `${formatRate(change.rate)} then` : 'ceiling then';
      const then = change.kind === 'unit' ? as : `${as} ${formatRate(change.ceiling)}`;
      page.labelled(change.kind, `${change.change} (${then})`, 2, 8);
    }
  }
  if (above.length > 10) page.paragraph(`${above.length - 10} more are in --json`);
}
