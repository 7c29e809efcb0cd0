/** The prediction document as text, and the tables it shares with a calibration. */
import type {
  CalibratedKindRow,
  IdentityRow,
  NextRow,
  PredictionDocument,
  PredictionRow,
} from '../../model/calibration.ts';
import type { Finding } from '../../model/finding.ts';
import { formatPercent, formatRate, formatSize } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { Page, type Paint, plain } from './page.ts';

const label = 8;

/** A size without rounding: `129 B`, `4 KiB`. */
export function sizeText(bytes: number): string {
  return bytes >= 1024 && bytes % 1024 === 0 ? formatSize(bytes) : `${bytes} B`;
}

/** Rates of transfers with their ranges, and below them what is said of each. */
export function writePredictions(page: Page, rows: readonly PredictionRow[], title: string): void {
  if (rows.length === 0) return;
  page.heading(title);
  page.space();
  page.table(
    [
      { title: 'stream', least: 8 },
      { title: 'transfer', least: 7 },
      { title: 'low', align: 'right' },
      { title: 'expected', align: 'right' },
      { title: 'high', align: 'right' },
      { title: 'needs', align: 'right' },
      { title: '' },
    ],
    rows.map(({ stream, kind, sizeBytes, range, need, level }) => [
      stream,
      `${kind} ${sizeText(sizeBytes)}`,
      ...[range.low, range.expected, range.high, need].map(formatRate),
      level,
    ]),
  );
  for (const row of rows) writeBehind(page, row);
}

function writeBehind(page: Page, row: PredictionRow): void {
  const { stream, range, link, ceiling, limitedBy, extrapolated, width } = row;
  page.space();
  page.paragraph(`${cleanText(stream)} at ${link}; ceiling ${formatRate(ceiling)}`);
  page.labelled('binds', `${limitedBy.cause} (${limitedBy.hop})`, 2, label);
  if (range.kind === 'bound') {
    page.labelled('range', 'corners of all that is not known', 2, label);
  } else {
    const { parameters, model, explanations } = width;
    const parts = [`parameters ${formatPercent(parameters)}`, `model ${formatPercent(model)}`];
    if (explanations >= 0.0005)
      parts.push(`explanations up to ${formatPercent(explanations)} apart`);
    page.labelled('range', `90 % interval of one measurement; ${parts.join(', ')}`, 2, label);
  }
  for (const what of extrapolated) page.labelled('outside', what, 2, label, 'caution');
}

/** How each kind of transfer was measured. */
export function writeKinds(page: Page, kinds: readonly CalibratedKindRow[]): void {
  for (const { kind, points, scatter, sizes, links } of kinds) {
    const from = sizeText(sizes.low);
    const span = sizes.low === sizes.high ? from : `${from} to ${sizeText(sizes.high)}`;
    const text = `${points} measured, ${span}; scatter ${formatPercent(scatter)}; ${links.join('; ')}`;
    page.labelled(`${kind}s`, text, 0, label);
  }
}

/** What was measured, one line. */
export function writeIdentity(page: Page, identity: readonly IdentityRow[]): void {
  const text = identity.map((row) => `${row.name} ${row.text}`).join('; ');
  page.labelled('board', text, 0, label);
}

export function writeNext(page: Page, next: readonly NextRow[]): void {
  if (next.length === 0) return;
  page.heading('What to measure next');
  for (const [i, { text }] of next.entries()) page.labelled(`${i + 1}`, text, 0, 2);
}

export function writeFindings(page: Page, findings: readonly Finding[]): void {
  const shown = findings.filter(({ level }) => level !== 'ok');
  if (shown.length === 0) return;
  page.heading(`Findings: ${shown.length}`);
  for (const { level, subject, message, next } of shown) {
    page.space();
    page.labelled(level, `${cleanText(subject)}: ${cleanText(message)}`, 0, label, level);
    page.labelled('next', next, 2, label - 2);
  }
}

export function writeList(page: Page, title: string, items: readonly string[]): void {
  if (items.length === 0) return;
  page.heading(title);
  for (const item of items) page.item(item);
}

/** The prediction as text; every line at most `width` cells, 80 when absent. */
export function predictionText(
  document: PredictionDocument,
  { width = 80, paint = plain }: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const page = new Page(width, paint);
  page.heading(`${cleanText(document.case.title, '(untitled)')}: prediction`);
  const { basedOn } = document;
  if (basedOn) {
    const { part, date, explanation, conditions, identity, kinds, alternatives } = basedOn;
    page.labelled('based on', `${part}, measured ${date}: ${explanation}`, 0, label);
    for (const other of alternatives) page.labelled('or', other, 0, label);
    page.labelled('on', conditions, 0, label);
    writeIdentity(page, identity);
    writeKinds(page, kinds);
  }
  writePredictions(page, document.predictions, `Streams: ${document.predictions.length}`);
  writeNext(page, document.next);
  writeFindings(page, document.findings);
  writeList(page, 'Limits', document.limits);
  page.space();
  const { name, version } = document.tool;
  page.paragraph(`${document.schema}, made by ${name} ${version}`, 0, 'faint');
  return page.text();
}
