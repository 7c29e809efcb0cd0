/** The reconciliation document as text for a terminal or a log. */
import type { Reconciliation, UnusedEvidence } from '../../model/reconcile.ts';
import { formatPercent } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { levelsWorstFirst } from '../words.ts';
import { groupedTicks } from './ledgers.ts';
import { Page, type Paint, plain } from './page.ts';
import { writeImpossible, writePoints, writeRest } from './reconcile-points.ts';
import { writeTraffic } from './reconcile-traffic.ts';

const label = 8;

/** Most findings and problems written out; the document has all. */
const LINES_MOST = 20;

function writeHead(page: Page, document: Reconciliation): void {
  const { verdict } = document;
  page.heading(`${cleanText(document.case.title, '(untitled)')}: measured and predicted`);
  page.labelled('question', document.case.question ?? '', 0, label);
  page.space();
  page.labelled(verdict.level, verdict.standing, 0, label, verdict.level);
  page.labelled('verdict', verdict.summary, 0, label, verdict.level);
  page.labelled('decide', verdict.decide, 0, label);
  page.labelled('evidence', document.evidence.join(', '), 0, label);
}

function writeTogether(page: Page, { together }: Reconciliation): void {
  const restless = together.filter((t) => t.unknowns.length > 0 || t.otherShapes.length > 0);
  if (restless.length === 0) return;
  page.heading('One unknown at a time, over all points');
  for (const t of restless) {
    page.space();
    const all = `${t.points} ${t.points === 1 ? 'point' : 'points'}`;
    const part = t.fitted < t.points ? `${t.fitted} of ${all}` : all;
    page.paragraph(
      `${cleanText(t.stream)}, ${t.kind}s, ${part}: expected is ${formatPercent(t.residual)} off`,
    );
    page.space();
    if (t.unknowns.length > 0) {
      page.table(
        [
          { title: 'unknown', least: 20 },
          { title: 'would be', least: 8 },
          { title: 'stated', least: 10 },
          { title: 'leaves', align: 'right' },
        ],
        t.unknowns
          .slice(0, 8)
          .map((u) => [
            u.name,
            u.text,
            u.inRange ? `${u.stated}: holds it` : u.stated,
            formatPercent(u.residual),
          ]),
        2,
      );
    }
    if (t.tied > 1) {
      page.paragraph(`the first ${t.tied} explain the points alike`, 2);
    }
    if (t.shape) page.labelled('shape', t.shape.text, 2, label);
    if (t.otherShapes.length > 0) {
      const lead = t.shape ? 'the points allow as well' : 'the points do not tell apart';
      const texts = t.otherShapes.slice(0, 4).map((s) => s.text);
      page.labelled('or', `${lead}: ${texts.join('; or ')}`, 2, label);
    }
  }
}

function unusedText({ rows, place, text }: UnusedEvidence): string {
  const where = `${place.file}:${place.line}`;
  const count = `${groupedTicks(rows)} ${rows === 1 ? 'row' : 'rows'}`;
  return `${count}, first at ${where}: ${text}`;
}

function writeUnused(page: Page, { unused, problems, pointsLeftOut }: Reconciliation): void {
  if (unused.length + problems.length + pointsLeftOut === 0) return;
  page.heading('Not used');
  for (const row of unused.slice(0, LINES_MOST)) {
    page.item(unusedText(row));
    page.labelled('next', row.next, 3, 4);
  }
  for (const problem of problems.slice(0, LINES_MOST)) page.item(problem);
  const more = Math.max(0, unused.length - LINES_MOST) + Math.max(0, problems.length - LINES_MOST);
  if (more > 0) page.item(`${more} more; --json lists them`);
  if (pointsLeftOut > 0) page.item(`${groupedTicks(pointsLeftOut)} points beyond those rated`);
}

function writeFindings(page: Page, { findings }: Reconciliation): void {
  if (findings.length === 0) return;
  page.heading('About the evidence');
  const sorted = levelsWorstFirst.flatMap((level) => findings.filter((f) => f.level === level));
  for (const f of sorted.slice(0, LINES_MOST)) {
    page.space();
    page.labelled(f.level, cleanText(f.subject, '(unnamed)'), 0, label, f.level);
    page.paragraph(f.message, label + 2);
    page.labelled('next', f.next, label + 2, 6);
  }
  if (sorted.length > LINES_MOST)
    page.item(`${sorted.length - LINES_MOST} more; --json lists them`);
}

function writeList(page: Page, title: string, items: readonly string[]): void {
  if (items.length === 0) return;
  page.heading(title);
  for (const item of items) page.item(item);
}

/**
 * The reconciliation as text; every line at most `width` cells, 80 when absent. A pure function of the
 * document.
 */
export function reconciliationText(
  document: Reconciliation,
  { width = 80, paint = plain }: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const page = new Page(width, paint);
  writeHead(page, document);
  writePoints(page, document.points);
  writeRest(page, document.points);
  writeImpossible(page, document.points);
  writeTogether(page, document);
  writeTraffic(page, document.traffic);
  writeUnused(page, document);
  writeFindings(page, document);
  writeList(page, 'What is left out', document.limits);
  writeList(page, 'Sources', document.sources);
  page.space();
  const { name, version } = document.tool;
  page.paragraph(`${document.schema}, made by ${name} ${version}`, 0, 'faint');
  return page.text();
}
