/** The simulation document as text for a terminal or a log. */
import type {
  RunFigure,
  SimulatedPeaks,
  SimulatedRuns,
  SimulatedStream,
  SimulationDocument,
} from '../../model/simulation.ts';
import {
  formatPercent,
  formatRate,
  formatTime,
  fromNumber,
  withPlaces,
} from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { directionText, shareText } from '../words.ts';
import { groupedTicks } from './ledgers.ts';
import { Page, type Paint, plain } from './page.ts';
import { differenceText, writeLinks } from './simulation-links.ts';

const label = 8;

function counted(count: number, one: string, many = `${one}s`): string {
  return `${groupedTicks(count)} ${count === 1 ? one : many}`;
}

const readTimes = {
  fixed: 'the same time each',
  exponential: 'exponentially distributed times',
  stated: 'times distributed as the host states',
} as const;

function writeHead(page: Page, document: SimulationDocument): void {
  const { window } = document;
  page.heading(`${cleanText(document.case.title, '(untitled)')}: simulation`);
  page.labelled('question', document.case.question ?? '', 0, label);
  page.space();
  const turns = document.arbitration === 'weighted' ? 'in proportion to their needs' : 'one by one';
  const reads = readTimes[document.readDelay];
  page.labelled(
    'seed',
    `${document.seed}; streams take turns ${turns}; reads take ${reads}`,
    0,
    label,
  );
  const why = window.chosen === 'closed form' ? ', in which everything comes out whole' : '';
  const ticks = `${groupedTicks(window.ticks)} ticks`;
  const before = `after ${formatTime(window.warmUp)} of warm-up`;
  page.labelled('window', `${formatTime(window.seconds)}, ${ticks}${why}, ${before}`, 0, label);
  page.labelled('period', periodText(document), 0, label);
  const events = `${counted(document.dispatched, 'event')} dispatched`;
  page.labelled('run', `${events}; state ${document.stateHash} at the end`, 0, label);
}

function periodText({ period, skip }: SimulationDocument): string {
  if (!skip) return 'not looked for; every event was dispatched';
  if (!period) return 'none was found; every event was dispatched';
  const length = `${formatTime(period.seconds)}, ${groupedTicks(period.ticks)} ticks`;
  const left = counted(period.skipped, 'whole period was', 'whole periods were');
  return `the whole state recurs after ${length}; ${left} left out, exactly`;
}

function writeReasons(page: Page, because: readonly string[]): void {
  for (const reason of because) page.labelled('because', reason, 2, label);
}

function writeStreams(page: Page, streams: readonly SimulatedStream[]): void {
  page.heading(`Streams: ${streams.length}`);
  page.space();
  page.table(
    [
      { title: 'stream', least: 12 },
      { title: 'closed form', align: 'right' },
      { title: 'simulated', align: 'right' },
      { title: 'difference', align: 'right' },
    ],
    streams.map((s) => [
      s.name,
      formatRate(s.closedForm),
      formatRate(s.simulated),
      differenceText(s.difference),
    ]),
  );
  for (const { name, because } of streams) {
    if (because.length === 0) continue;
    page.space();
    page.paragraph(cleanText(name));
    writeReasons(page, because);
  }
  page.space();
  page.table(
    [
      { title: 'time to arrive', least: 12 },
      ...['p50', 'p99', 'p99.9', 'max', 'of'].map((title) => ({ title, align: 'right' as const })),
    ],
    streams.map(({ name, latency: { count, p50, p99, p999, most } }) => [
      name,
      ...[p50, p99, p999, most].map(formatTime),
      groupedTicks(count),
    ]),
  );
}

function creditText({ credits }: SimulatedPeaks): string {
  const out = credits.filter(({ headers }) => headers > 0);
  const parts = out.map(({ credit, channel, headers, units }) => {
    const on = channel === 0 ? '' : ` on channel ${channel}`;
    const data = units === 0 ? '' : ` and ${units} data`;
    return `${headers} ${credit} header${data}${on}`;
  });
  return parts.join(', ') || 'none';
}

function writePeaks(page: Page, { peaks, queues }: SimulationDocument): void {
  page.heading('High-water marks');
  page.space();
  page.table(
    [
      { title: 'wire', least: 20 },
      { title: 'unacknowledged', align: 'right' },
      { title: 'credits out', least: 16 },
    ],
    peaks.map((p) => [
      `${p.hop}, ${directionText(p.direction)}`,
      String(p.unacknowledged),
      creditText(p),
    ]),
  );
  if (queues.length === 0) return;
  page.space();
  page.table(
    [
      { title: 'switch, from', least: 20 },
      { title: 'to', least: 20 },
      { title: 'packets waiting', align: 'right' },
    ],
    queueRows(queues),
  );
}

/** One row for the queues of a switch between the same ports, which differ in kinds of packets. */
function queueRows(queues: SimulationDocument['queues']): string[][] {
  const rows = new Map<string, { from: string; to: string; most: number[] }>();
  for (const { from, to, most } of queues) {
    const key = `${from}\u0000${to}`;
    const row = rows.get(key) ?? { from, to, most: [] };
    row.most.push(most);
    rows.set(key, row);
  }
  return [...rows.values()].map(({ from, to, most }) => [from, to, most.join(', ')]);
}

function figureText(unit: RunFigure['unit'], value: number): string {
  if (unit === 'B/s') return formatRate(value);
  if (unit === 's') return formatTime(Math.max(0, value));
  return unit === 'share' ? shareText(Math.max(0, value)) : withPlaces(fromNumber(value), 2);
}

function writeRuns(page: Page, runs: SimulatedRuns): void {
  const { count, confidence, figures, equal } = runs;
  page.heading(`Runs: ${count}`);
  const same = `${counted(equal, 'figure is', 'figures are')} equal in all of them`;
  page.paragraph(`${same}; the others have ${formatPercent(confidence)} intervals of the mean`);
  if (figures.length === 0) return;
  page.space();
  page.table(
    [
      { title: 'of', least: 14 },
      { title: 'figure', least: 14 },
      { title: 'low', align: 'right' },
      { title: 'mean', align: 'right' },
      { title: 'high', align: 'right' },
    ],
    figures.map(({ of, figure, unit, low, mean, high }) => [
      of,
      figure,
      ...[low, mean, high].map((value) => figureText(unit, value)),
    ]),
  );
}

function writeList(page: Page, title: string, items: readonly string[]): void {
  if (items.length === 0) return;
  page.heading(title);
  for (const item of items) page.item(item);
}

/**
 * The simulation as text; every line at most `width` cells, 80 when absent. A pure function of the
 * document.
 */
export function simulationText(
  document: SimulationDocument,
  { width = 80, paint = plain }: { readonly width?: number; readonly paint?: Paint } = {},
): string {
  const page = new Page(width, paint);
  writeHead(page, document);
  writeStreams(page, document.streams);
  writeLinks(page, document.links);
  writePeaks(page, document);
  if (document.runs) writeRuns(page, document.runs);
  writeList(page, 'What the closed form leaves out', document.limits);
  writeList(
    page,
    'Delays rounded up to whole ticks',
    document.roundings.map((r) => `${r.what}: ${r.seconds} s becomes ${r.ticks} ticks`),
  );
  page.space();
  const { name, version } = document.tool;
  page.paragraph(`${document.schema}, made by ${name} ${version}`, 0, 'faint');
  return page.text();
}
