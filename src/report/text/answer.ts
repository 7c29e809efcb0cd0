/** The answer document as text for a terminal or a log. */
import type { Answer, AnswerPart, OptionDependence } from '../../model/answer.ts';
import { cleanText } from '../clean.ts';
import { type SourceList, sourcesOf } from '../sources.ts';
import { worstLevel } from '../words.ts';
import { writeFindings } from './findings.ts';
import { writeLedgers } from './ledgers.ts';
import { Page, type Paint, plain } from './page.ts';
import { writePins, writeRear } from './rear.ts';
import { writeAssumptions, writeStreams } from './streams.ts';

/** Parts of the text, in the order they are written. */
export const sections = [
  'verdict',
  'fit',
  'pins',
  'rate',
  'ledger',
  'assumptions',
  'options',
  'notes',
] as const;
export type Section = (typeof sections)[number];

export interface TextOptions {
  /** Cells in a line, 80 when absent; at least 40. */
  readonly width?: number;
  /** Styles for a terminal; plain when absent. */
  readonly paint?: Paint;
  /** False leaves out what only a check of the check needs; true when absent. */
  readonly full?: boolean;
  /** Which parts to write; all when absent. A part the document lacks is left out. */
  readonly sections?: readonly Section[];
}

function writeVerdict(page: Page, answer: Answer): void {
  const { verdict } = answer;
  const title = cleanText(answer.case.title, '(untitled)');
  const revision = cleanText(answer.case.revision ?? '');
  page.heading(revision === '' ? title : `${title}, revision ${revision}`);
  page.labelled('question', answer.case.question ?? '', 0, 8);
  page.space();
  if (verdict.fits) page.labelled('fits', verdict.fits, 0, 8, verdict.fits);
  if (verdict.keepsUp) page.labelled('keeps up', verdict.keepsUp, 0, 8, verdict.keepsUp);
  page.labelled('verdict', verdict.summary, 0, 8, worstLevel(answer));
  page.labelled('decide', verdict.decide, 0, 8);
  page.labelled('rests on', restsOn(verdict.options ?? []), 0, 8);
}

/** Build options of which another choice would stop the fit: what an order must name. */
function restsOn(options: readonly OptionDependence[]): string {
  const deciding = options.filter((o) =>
    o.otherwise.some((other) => other.changes.some((change) => change.endsWith('stop'))),
  );
  return deciding.map((o) => cleanText(`${o.part} ${o.option} ${o.chosen}`)).join(', ');
}

function writeParts(page: Page, parts: readonly AnswerPart[]): void {
  page.space();
  for (const { kind, id, title, site, options } of parts) {
    const built = [site === undefined ? '' : `site ${site}`, ...options].filter((o) => o !== '');
    const as = built.length === 0 ? '' : ` (${built.join(', ')})`;
    page.labelled(kind, cleanText(`${id}: ${title}${as}`), 0, 8);
  }
}

function writeOptions(page: Page, options: readonly OptionDependence[]): void {
  if (options.length === 0) return;
  page.heading('What other build options would change');
  for (const option of options) {
    page.space();
    const name = `${cleanText(option.part)}, ${cleanText(option.option)}`;
    page.paragraph(`${name}: ${cleanText(option.chosen)} is chosen`);
    for (const other of option.otherwise) {
      const changes = other.changes.map((c) => cleanText(c)).join('; ') || 'nothing changes';
      page.item(`${cleanText(other.choice)} instead: ${changes}`);
    }
  }
}

function writeSources(page: Page, sources: SourceList): void {
  if (sources.list.length === 0) return;
  page.heading('Sources');
  const label = `[${sources.list.length}]`.length;
  for (const [i, source] of sources.list.entries()) page.labelled(`[${i + 1}]`, source, 0, label);
}

function writeList(page: Page, title: string, items: readonly string[]): void {
  if (items.length === 0) return;
  page.heading(title);
  for (const item of items) page.item(item);
}

function writeNotes(page: Page, answer: Answer, sources: SourceList, full: boolean): void {
  writeList(
    page,
    'Delays rounded up to whole ticks',
    (answer.rate?.roundings ?? []).map((r) => `${r.what}: ${r.seconds} s becomes ${r.ticks} ticks`),
  );
  writeList(page, 'Cautions', answer.cautions);
  writeSources(page, sources);
  if (full) {
    const files = answer.inputs.map((i) => `${cleanText(i.file)} ${cleanText(i.sha256)}`);
    writeList(page, 'Files read (SHA-256)', files);
  }
  page.space();
  const { name, version } = answer.tool;
  page.paragraph(`${answer.schema}, made by ${name} ${version}`, 0, 'faint');
}

/**
 * The answer as text, verdict first; every line at most `width` cells, escape sequences and control
 * characters of foreign names removed. A pure function of the document.
 */
export function answerText(answer: Answer, options: TextOptions = {}): string {
  const page = new Page(options.width ?? 80, options.paint ?? plain);
  const sources = sourcesOf(answer);
  const wanted = new Set(options.sections ?? sections);
  const full = options.full ?? true;
  if (wanted.has('verdict')) {
    writeVerdict(page, answer);
    writeParts(page, answer.parts);
  }
  if (wanted.has('fit') && answer.fit) writeFindings(page, answer.fit.findings, sources, full);
  if (wanted.has('pins')) {
    writeRear(page, answer.rear ?? []);
    if (full) writePins(page, answer.pins ?? []);
  }
  if (wanted.has('rate') && answer.rate) {
    writeList(page, 'What the rates leave out', answer.rate.limits);
    writeStreams(page, answer.rate.streams);
  }
  if (wanted.has('ledger') && answer.rate) writeLedgers(page, answer.rate.links);
  if (full && wanted.has('assumptions') && answer.rate) {
    writeAssumptions(page, answer.rate.streams, sources);
  }
  if (full && wanted.has('options')) writeOptions(page, answer.verdict.options ?? []);
  if (wanted.has('notes')) writeNotes(page, answer, sources, full);
  return page.text();
}
