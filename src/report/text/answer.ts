/** The answer document as text for a terminal or a log. */
import type { Answer } from '../../model/answer.ts';
import { cleanText } from '../clean.ts';
import { worstLevel } from '../words.ts';
import { writeFindings } from './findings.ts';
import { writeLedgers } from './ledgers.ts';
import { Page, type Paint, plain } from './page.ts';
import { writeStreams } from './streams.ts';

/** Parts of the text, in the order they are written. */
export const sections = ['verdict', 'fit', 'rate', 'ledger', 'notes'] as const;
export type Section = (typeof sections)[number];

export interface TextOptions {
  /** Cells in a line, 80 when absent; at least 40. */
  readonly width?: number;
  /** Styles for a terminal; plain when absent. */
  readonly paint?: Paint;
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
  for (const option of verdict.options ?? []) {
    const name = `${cleanText(option.part)}, ${cleanText(option.option)}`;
    page.labelled('rests on', `${name} = ${cleanText(option.chosen)}`, 0, 8);
    for (const other of option.otherwise) {
      const changes = other.changes.map((c) => cleanText(c)).join('; ') || 'nothing changes';
      page.labelled('', `${cleanText(other.choice)} instead: ${changes}`, 2, 8);
    }
  }
}

function writeList(page: Page, title: string, items: readonly string[]): void {
  if (items.length === 0) return;
  page.heading(title);
  for (const item of items) page.item(item);
}

function writeNotes(page: Page, answer: Answer): void {
  writeList(page, 'What the rates leave out', answer.rate?.limits ?? []);
  writeList(
    page,
    'Delays rounded up to whole ticks',
    (answer.rate?.roundings ?? []).map((r) => `${r.what}: ${r.seconds} s becomes ${r.ticks} ticks`),
  );
  writeList(page, 'Cautions', answer.cautions);
  writeList(page, 'Sources', answer.sources);
  writeList(
    page,
    'Files read (SHA-256)',
    answer.inputs.map((input) => `${cleanText(input.file)} ${cleanText(input.sha256)}`),
  );
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
  const wanted = new Set(options.sections ?? sections);
  if (wanted.has('verdict')) writeVerdict(page, answer);
  if (wanted.has('fit') && answer.fit) writeFindings(page, answer.fit.findings);
  if (wanted.has('rate') && answer.rate) writeStreams(page, answer.rate.streams);
  if (wanted.has('ledger') && answer.rate) writeLedgers(page, answer.rate.links);
  if (wanted.has('notes')) writeNotes(page, answer);
  return page.text();
}
