/** The document of a waveform as text for a terminal or a log. */
import { accountMarks, accountTitle, chargedRows } from '../../figures/shares.ts';
import type {
  CaptureDocument,
  CapturedBus,
  CapturedCount,
  CapturedGroup,
  CapturedStream,
} from '../../model/capture.ts';
import type { Finding } from '../../model/finding.ts';
import { formatRate, formatSize, formatTime } from '../../quantity/index.ts';
import { basisWords, levelsWorstFirst, shareText, ticksAsTime } from '../words.ts';
import { writeFirstRows } from './capture-rows.ts';
import { levelCounts } from './findings.ts';
import { groupedTicks, ledgerBar } from './ledgers.ts';
import { Page, type Paint, plain } from './page.ts';

const label = 8;

function writeHead(page: Page, document: CaptureDocument): void {
  const { interface: own, waveform } = document;
  page.heading(`${document.inputs[0]?.file ?? 'waveform'}: ${document.ledger.link}`);
  const size = `${formatSize(waveform.bytes)}, ${groupedTicks(waveform.changes)} value changes`;
  const made = waveform.writer === undefined ? '' : `, written by ${waveform.writer}`;
  const date = waveform.date === undefined ? '' : `, ${waveform.date}`;
  page.labelled('file', `${waveform.format}, ${size}${made}${date}`, 0, label);
  page.labelled('sha256', document.inputs[0]?.sha256 ?? '', 0, label);
  page.labelled('mode', `${own.kind}: ${own.decidedBy}`, 0, label);
  page.labelled('clock', clockText(document), 0, label);
}

function clockText({ interface: own }: CaptureDocument): string {
  const clocks = `${groupedTicks(own.clocks)} clocks`;
  if (own.clockSeconds === undefined) return `${clocks}; the length of one is not known`;
  const steady = own.clockLeast === own.clockGreatest;
  const spread = steady
    ? ''
    : ` on average, ${formatTime(own.clockLeast!)} to ${formatTime(own.clockGreatest!)}`;
  return `${clocks} of ${formatTime(own.clockSeconds)}${spread}, ${formatTime(own.seconds!)} in all`;
}

function writeLedger(page: Page, { ledger }: CaptureDocument): void {
  page.heading('Ledger: where the clocks went');
  page.space();
  const parts =
    ledger.ticksPerClock === 1 ? 'a tick is a clock' : 'a tick is a byte lane of a clock';
  page.paragraph(
    `Capital letters: the link carries something. Small letters: it waits, and why. A full stop: ` +
      `nothing asked for it. Every tick is in exactly one account; ${parts}.`,
    0,
    'faint',
  );
  page.space();
  page.raw(`  [${ledgerBar(ledger, page.width - 4)}]`);
  const { tickRational } = ledger;
  const { rows } = chargedRows(ledger);
  page.table(
    [
      { title: ' ' },
      { title: 'account', least: 18 },
      { title: 'share', align: 'right' },
      ...(tickRational === undefined ? [] : [{ title: 'time', align: 'right' as const }]),
      { title: 'ticks', align: 'right', least: 8 },
    ],
    rows.map((row) => [
      accountMarks[row.account],
      accountTitle(row.account),
      shareText(row.share),
      ...(tickRational === undefined ? [] : [ticksAsTime({ tickRational }, row.ticks)]),
      groupedTicks(row.ticks),
    ]),
    2,
  );
}

function writeGroups(page: Page, title: string, groups: readonly CapturedGroup[]): void {
  page.space();
  const right = (name: string) => ({ title: name, align: 'right' as const });
  page.table(
    [
      { title, least: 14 },
      right('number'),
      right('bytes'),
      right('rate'),
      right('clocks'),
      right('waits: m'),
      right('t'),
      right('both'),
    ],
    groups.map((g) => [
      g.name,
      groupedTicks(g.transactions),
      groupedTicks(g.bytes),
      g.rate === undefined ? '' : formatRate(g.rate),
      groupedTicks(g.clocks),
      ...[g.masterWaits, g.targetWaits, g.bothWait].map(groupedTicks),
    ]),
  );
}

function countText(counts: readonly CapturedCount[]): string {
  return counts.map(({ name, count }) => `${count} ${name}`).join(', ');
}

function writeBus(page: Page, bus: CapturedBus): void {
  page.heading(`Transactions: ${groupedTicks(bus.total.transactions)}`);
  writeGroups(page, 'command', [...bus.commands, bus.total]);
  if (bus.masters.length > 0) writeGroups(page, 'master', bus.masters);
  page.space();
  page.labelled('ended', countText(bus.endings), 0, label);
  page.labelled('answered', countText(bus.decode), 0, label);
  page.labelled('clocks', countText(bus.phases), 0, label);
  page.labelled('raised', countText(bus.interrupts), 0, label);
}

function writeStream(page: Page, stream: CapturedStream, clocks: number): void {
  page.heading('Stream');
  const rate = stream.rate === undefined ? '' : `, ${formatRate(stream.rate)}`;
  page.labelled('payload', `${groupedTicks(stream.bytes)} bytes${rate}`, 0, label);
  const shares = [
    `${groupedTicks(stream.beats)} beats`,
    `${groupedTicks(stream.sourceGap)} without valid`,
    `${groupedTicks(stream.backPressure)} held up by the sink`,
    `${groupedTicks(stream.reset)} in reset`,
  ];
  page.labelled('clocks', `${groupedTicks(clocks)}: ${shares.join(', ')}`, 0, label);
  page.labelled('padding', `${groupedTicks(stream.padding)} byte lanes`, 0, label);
  if (stream.packets !== undefined)
    page.labelled('packets', groupedTicks(stream.packets), 0, label);
}

function writeFindings(page: Page, findings: readonly Finding[]): void {
  page.heading(`Findings: ${levelCounts(findings)}`);
  for (const level of levelsWorstFirst) {
    for (const f of findings.filter((finding) => finding.level === level)) {
      page.labelled(f.level, `${f.subject}: ${f.message}`, 0, label, f.level);
      const clause = `${f.clause} (${basisWords[f.basis]})`;
      if (f.clause !== 'common practice, no source') page.labelled('clause', clause, label + 2, 6);
      page.labelled('next', f.next, label + 2, 6);
    }
  }
}

function writeLines(page: Page, document: CaptureDocument): void {
  page.heading(`Lines: ${document.lines.length}`);
  page.table(
    [{ title: 'line' }, { title: 'read from', least: 20 }, { title: 'asserted' }, { title: 'by' }],
    document.lines.map(({ line, names, asserted, how }) => [
      line,
      names.length > 3 ? `${names[0]} … ${names.at(-1)}, ${names.length} names` : names.join(', '),
      asserted ?? 'level',
      how === 'named' ? 'you' : 'name',
    ]),
  );
}

/** The document as text; every line at most `width` cells, 80 when absent. A pure function of it. */
export function captureText(
  document: CaptureDocument,
  { width = 80, paint = plain }: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const page = new Page(width, paint);
  writeHead(page, document);
  writeLedger(page, document);
  if (document.bus) writeBus(page, document.bus);
  if (document.stream) writeStream(page, document.stream, document.interface.clocks);
  writeFirstRows(page, document);
  writeFindings(page, document.findings);
  if (document.problems.length > 0) {
    page.heading('Places that could not be read');
    for (const { place, expected, got } of document.problems.slice(0, 10)) {
      page.item(`line ${place.line}, column ${place.column}: expected ${expected}; got ${got}`);
    }
    const more = document.problems.length - 10 + document.problemsLeftOut;
    if (more > 0) page.item(`and ${groupedTicks(more)} more`);
  }
  writeLines(page, document);
  page.heading('What is left out');
  for (const limit of document.limits) page.item(limit);
  page.space();
  const { name, version } = document.tool;
  page.paragraph(`${document.schema}, made by ${name} ${version}`, 0, 'faint');
  return page.text();
}
