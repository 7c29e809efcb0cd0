/** The first transactions or packets of a waveform as a table. */
import type { CaptureDocument, CapturedPacket, CapturedTransaction } from '../../model/capture.ts';
import { groupedTicks } from './ledgers.ts';
import type { Page } from './page.ts';

/** Rows that the text shows; the document holds more, a file of values all. */
const SHOWN_MAX = 12;

const right = (title: string) => ({ title, align: 'right' as const });

function writeTransactions(page: Page, rows: readonly CapturedTransaction[]): void {
  page.table(
    [
      right('clock'),
      right('to'),
      right('gap'),
      right('m'),
      { title: 'command', least: 10 },
      { title: 'address', least: 8 },
      right('bytes'),
      right('waits'),
      { title: 'ended', least: 10 },
    ],
    rows.map((t) => [
      String(t.start),
      String(t.end),
      String(t.gap),
      t.master === undefined ? '?' : String(t.master),
      t.command ?? '?',
      t.address ?? '?',
      String(t.bytes),
      String(t.masterWaits + t.targetWaits + t.bothWait),
      t.ending,
    ]),
  );
}

function writePackets(page: Page, rows: readonly CapturedPacket[]): void {
  page.table(
    ['clock', 'to', 'gap', 'beats', 'bytes', 'padding', 'no valid', 'no ready'].map(right),
    rows.map((p) => [
      ...[p.start, p.end, p.gap, p.beats, p.bytes, p.padding].map(String),
      String(p.sourceGap),
      `${p.backPressure}${p.cut ? ' (cut)' : ''}`,
    ]),
  );
}

/** The first rows, and how many more there are. */
export function writeFirstRows(page: Page, document: CaptureDocument): void {
  const { transactions = [], packets = [], leftOut } = document;
  const rows = transactions.length + packets.length;
  if (rows === 0) return;
  page.heading(document.bus ? 'First transactions' : 'First packets');
  if (transactions.length > 0) writeTransactions(page, transactions.slice(0, SHOWN_MAX));
  else writePackets(page, packets.slice(0, SHOWN_MAX));
  const more = rows + leftOut - Math.min(rows, SHOWN_MAX);
  if (more > 0) page.paragraph(`and ${groupedTicks(more)} more; --transfers writes all to a file`);
}
