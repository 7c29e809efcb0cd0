/** Streams and ledgers in print. */
import { accountTitle, chargedRows } from '../../figures/shares.ts';
import type { HopLedger, StreamAnswer } from '../../model/answer.ts';
import { formatRate } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { assumptionGroups, citation, type SourceList } from '../sources.ts';
import { groupedTicks } from '../text/ledgers.ts';
import {
  chainText,
  directionText,
  layerText,
  measurementText,
  needOf,
  rangeKind,
  rateLines,
  shareText,
  signedPercent,
  ticksAsTime,
} from '../words.ts';
import type { PrintBlock, PrintTable } from './model.ts';

/** The rates section's content: an overview of several streams, then each by itself. */
export function rateBlocks(streams: readonly StreamAnswer[]): PrintBlock[] {
  if (streams.length === 0) return [{ kind: 'text', text: 'The case asks for no stream.' }];
  const overview = streams.length > 1 ? [overviewOf(streams)] : [];
  return [...overview, ...streams.flatMap(streamBlocks)];
}

function overviewOf(streams: readonly StreamAnswer[]): PrintTable {
  const number = (title: string) => ({ title, number: true });
  return {
    kind: 'table',
    caption: 'Streams: required against sustained',
    columns: [
      { title: 'stream', share: 1 },
      { title: 'level' },
      ...['required', 'need', 'low', 'expected', 'high', 'headroom'].map(number),
    ],
    rows: streams.map((s) => [
      cleanText(s.name, '(unnamed)'),
      { level: s.level },
      formatRate(s.required),
      formatRate(needOf(s)),
      formatRate(s.sustained.low),
      formatRate(s.sustained.expected),
      formatRate(s.sustained.high),
      signedPercent(s.headroom),
    ]),
  };
}

function streamBlocks(stream: StreamAnswer): PrintBlock[] {
  const name = cleanText(stream.name, '(unnamed)');
  return [
    { kind: 'heading', text: `${name}, ${stream.direction}`, level: stream.level },
    { kind: 'text', text: cleanText(stream.message) },
    ...(stream.next === ''
      ? []
      : [{ kind: 'text', text: `Next: ${cleanText(stream.next)}` } as const]),
    {
      kind: 'table',
      caption: `Rates of ${name}`,
      columns: [{ title: 'rate' }, { title: 'is', number: true }, { title: 'meaning', share: 1 }],
      rows: rateLines(stream).map((line) => [line.name, line.rate, line.note]),
    },
    { kind: 'list', items: reasons(stream) },
  ];
}

function reasons(stream: StreamAnswer): string[] {
  const w = stream.widenedBy;
  return [
    `Path: ${stream.path.join(' > ')}.`,
    `Low and high: ${rangeKind(stream)}.`,
    ...stream.limitedBy.map(
      (l) =>
        `Bound by ${l.cause}: ${accountTitle(l.account)} on ${l.hop}, ${directionText(l.direction)}.`,
    ),
    ...(stream.chain.length > 1 ? [`Limits in order: ${chainText(stream.chain)}.`] : []),
    ...(w === undefined
      ? []
      : [
          `Widened most by ${w.name}, ${w.text}: ${formatRate(w.low)} to ${formatRate(w.high)} on ` +
            `this alone. ${w.ask}`,
        ]),
    ...(stream.measured ?? []).map((m) => `${measurementText(m)}.`),
  ].map((text) => cleanText(text));
}

/** What the rates rest on: what all streams share, then what each has beside it. */
export function assumptionBlocks(
  streams: readonly StreamAnswer[],
  sources: SourceList,
): PrintBlock[] {
  return assumptionGroups(streams).map(
    ({ about, assumptions }): PrintTable => ({
      kind: 'table',
      caption: `What the rates of ${about} rest on`,
      columns: [
        { title: 'assumption', share: 4 },
        { title: 'value', share: 4 },
        { title: 'supplied by' },
        { title: 'basis' },
      ],
      rows: assumptions.map((a) => [
        cleanText(a.name),
        cleanText(a.text),
        layerText(a.from),
        citation(a, sources),
      ]),
    }),
  );
}

/** The exact ledger of each direction of each link. */
export function ledgerBlocks(links: readonly HopLedger[]): PrintBlock[] {
  if (links.length === 0) return [];
  const lead =
    'Where the time of each link goes, each direction on its own, at the expected values. Every ' +
    'tick is in exactly one account.';
  return [{ kind: 'text', text: lead }, ...links.flatMap(ledgerOf)];
}

function ledgerOf(hop: HopLedger): PrintBlock[] {
  const { rows, empty } = chargedRows(hop);
  const window =
    `${hop.link}; window of ${ticksAsTime(hop, hop.total)}, ${groupedTicks(hop.total)} ticks of ` +
    `${hop.tickRational} s (${ticksAsTime(hop, 1)}).`;
  const rest = empty.length === 0 ? '' : ` Nothing charged to: ${empty.join(', ')}.`;
  return [
    {
      kind: 'table',
      caption: cleanText(`${hop.hop}, ${directionText(hop.direction)}`),
      columns: [
        { title: 'account', share: 2 },
        { title: 'stream', share: 2 },
        { title: 'share', number: true },
        { title: 'time', number: true },
        { title: 'ticks', number: true },
      ],
      rows: rows.map((row) => [
        accountTitle(row.account),
        cleanText(row.stream ?? ''),
        shareText(row.share),
        ticksAsTime(hop, row.ticks),
        groupedTicks(row.ticks),
      ]),
    },
    { kind: 'small', text: cleanText(`${window}${rest}`) },
  ];
}
