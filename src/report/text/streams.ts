/** Streams as text: rates, what binds, what is assumed. */
import type { StreamAnswer } from '../../model/answer.ts';
import { formatRate } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { accountTitle } from '../ledger.ts';
import {
  basisText,
  directionText,
  layerText,
  measurementText,
  rangeKind,
  rateLines,
} from '../words.ts';
import type { Page } from './page.ts';

const label = 8;

function writeReasons(page: Page, stream: StreamAnswer): void {
  for (const limit of stream.limitedBy) {
    const where = `${accountTitle(limit.account)} on ${limit.hop}, ${directionText(limit.direction)}`;
    page.labelled('bound by', `${limit.cause}: ${where}`, 2, label);
  }
  const widener = stream.widenedBy;
  if (widener) {
    const span = `${formatRate(widener.low)} to ${formatRate(widener.high)} on this alone`;
    page.labelled('widened', `${widener.name}, ${widener.text}: ${span}. ${widener.ask}`, 2, label);
  }
  for (const check of stream.measured ?? []) {
    page.labelled('measured', measurementText(check), 2, label);
  }
}

function writeStream(page: Page, stream: StreamAnswer): void {
  page.space();
  const name = cleanText(stream.name, '(unnamed)');
  page.labelled(stream.level, `${name}, ${stream.direction}`, 0, 8, stream.level);
  page.paragraph(stream.message, 2);
  page.labelled('next', stream.next, 2, label);
  page.labelled('path', stream.path.map((p) => cleanText(p)).join(' > '), 2, label);
  page.space();
  page.table(
    [{ title: 'rate' }, { title: 'is', align: 'right' }, { title: 'meaning', least: 10 }],
    rateLines(stream).map((l) => [l.name, l.rate, l.note]),
    2,
  );
  page.labelled('range', rangeKind(stream), 2, label);
  writeReasons(page, stream);
  if (stream.assumptions.length === 0) return;
  page.space();
  page.table(
    [
      { title: 'rests on', least: 16 },
      { title: 'value', least: 10 },
      { title: 'from', least: 8 },
      { title: 'basis', least: 14 },
    ],
    stream.assumptions.map((a) => [a.name, a.text, layerText(a.from), basisText(a)]),
    2,
  );
}

/** The rate section: each stream with its argument. */
export function writeStreams(page: Page, streams: readonly StreamAnswer[]): void {
  page.heading(`Rate: ${streams.length} ${streams.length === 1 ? 'stream' : 'streams'}`);
  for (const stream of streams) writeStream(page, stream);
}
