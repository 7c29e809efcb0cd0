/** Streams as text: rates, what binds, what is assumed. */

import { accountTitle } from '../../figures/shares.ts';
import type { StreamAnswer } from '../../model/answer.ts';
import { formatRate } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { assumptionGroups, citation, type SourceList } from '../sources.ts';
import {
  chainText,
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
  if (stream.chain.length > 1) page.labelled('in order', chainText(stream.chain), 2, label);
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
}

/** The assumptions section: what all streams rest on, then what each does beside. */
export function writeAssumptions(
  page: Page,
  streams: readonly StreamAnswer[],
  sources: SourceList,
): void {
  const groups = assumptionGroups(streams);
  if (groups.length === 0) return;
  page.heading('What the rates rest on');
  for (const { about, assumptions } of groups) {
    page.space();
    page.table(
      [
        { title: `for ${about}`, least: 20 },
        { title: 'value', least: 12 },
        { title: 'from' },
        { title: 'basis', least: 10 },
      ],
      assumptions.map((a) => [a.name, a.text, layerText(a.from), citation(a, sources)]),
    );
  }
}

/** The rate section: each stream with its argument. */
export function writeStreams(page: Page, streams: readonly StreamAnswer[]): void {
  page.heading(`Rate: ${streams.length} ${streams.length === 1 ? 'stream' : 'streams'}`);
  for (const stream of streams) writeStream(page, stream);
}
