/** Streams as HTML: an overview, then each stream with its rates, what binds and what it rests on. */

import { accountTitle } from '../../figures/shares.ts';
import type { StreamAnswer } from '../../model/answer.ts';
import { formatRate } from '../../quantity/index.ts';
import { assumptionGroups, type SourceList } from '../sources.ts';
import {
  chainText,
  directionText,
  layerText,
  measurementText,
  needOf,
  rangeKind,
  rateLines,
  signedPercent,
} from '../words.ts';
import { cite, html, levelTag, type Markup, nothing, table } from './markup.ts';

function overview(streams: readonly StreamAnswer[]): Markup {
  return table(
    'Streams: required against sustained',
    [
      { title: 'stream' },
      { title: 'level' },
      { title: 'required', number: true },
      { title: 'need', number: true },
      { title: 'low', number: true },
      { title: 'expected', number: true },
      { title: 'high', number: true },
      { title: 'headroom', number: true },
    ],
    streams.map((s) => [
      s.name || '(unnamed)',
      levelTag(s.level),
      formatRate(s.required),
      formatRate(needOf(s)),
      formatRate(s.sustained.low),
      formatRate(s.sustained.expected),
      formatRate(s.sustained.high),
      signedPercent(s.headroom),
    ]),
  );
}

/** A bar beside a number, against the largest rate of the stream; the line marks the need. */
function gauge(value: number, need: number, largest: number): Markup {
  const at = (v: number) => `${largest > 0 ? Math.round((v / largest) * 9800) / 100 : 0}%`;
  return html`<svg class="gauge" aria-hidden="true" focusable="false"><rect class="ground" width="100%" height="100%"/><rect class="rate" y="25%" width="${at(value)}" height="50%"/><line class="need" x1="${at(need)}" x2="${at(need)}" y1="0" y2="100%"/></svg>`;
}

function rates(stream: StreamAnswer): Markup {
  const need = needOf(stream);
  const values = {
    required: stream.required,
    average: stream.average,
    need,
    ceiling: stream.ceiling,
  };
  const byName: Readonly<Record<string, number>> = { ...values, ...sustained(stream) };
  const largest = Math.max(...Object.values(byName));
  return table(
    `Rates of ${stream.name}; the upright line marks the need`,
    [{ title: 'rate' }, { title: 'is', number: true }, { title: 'drawn' }, { title: 'meaning' }],
    rateLines(stream).map((line) => {
      const value = byName[line.name];
      return [
        line.name,
        line.rate,
        value === undefined ? nothing : gauge(value, need, largest),
        line.note,
      ];
    }),
  );
}

function sustained(stream: StreamAnswer) {
  const { low, expected, high } = stream.sustained;
  return { low, expected, high };
}

function reasons(stream: StreamAnswer): Markup {
  const limits = stream.limitedBy.map(
    (limit) =>
      html`<li>Bound by ${limit.cause}: ${accountTitle(limit.account)} on ${limit.hop}, ${directionText(limit.direction)}.</li>\n`,
  );
  const chain =
    stream.chain.length > 1
      ? html`<li>Limits in order: ${chainText(stream.chain)}.</li>\n`
      : nothing;
  const w = stream.widenedBy;
  const widened = w
    ? html`<li>Widened most by ${w.name}, ${w.text}: ${formatRate(w.low)} to ${formatRate(w.high)} on this alone. ${w.ask}</li>\n`
    : nothing;
  const measured = (stream.measured ?? []).map((m) => html`<li>${measurementText(m)}.</li>\n`);
  return html`<ul>
<li>Path: ${stream.path.join(' > ')}.</li>
<li>Low and high: ${rangeKind(stream)}.</li>
${limits}${chain}${widened}${measured}</ul>
`;
}

/** The assumptions section's content: what all streams rest on, then what each does beside. */
export function assumptionsHtml(streams: readonly StreamAnswer[], sources: SourceList): Markup {
  const groups = assumptionGroups(streams).map(({ about, assumptions }) =>
    table(
      `What the rates of ${about} rest on`,
      [{ title: 'assumption' }, { title: 'value' }, { title: 'supplied by' }, { title: 'basis' }],
      assumptions.map((a) => [a.name, a.text, layerText(a.from), cite(a, sources)]),
    ),
  );
  return html`${groups}`;
}

function streamHtml(stream: StreamAnswer): Markup {
  const next = stream.next === '' ? nothing : html`<p class="next">Next: ${stream.next}</p>\n`;
  return html`<div class="stream">
<h3>${stream.name || '(unnamed)'}, ${stream.direction} ${levelTag(stream.level)}</h3>
<p>${stream.message}</p>
${next}${rates(stream)}${reasons(stream)}</div>
`;
}

/** The rate section's content. */
export function streamsHtml(streams: readonly StreamAnswer[]): Markup {
  if (streams.length === 0) return html`<p>The case asks for no stream.</p>`;
  return html`${streams.length > 1 ? overview(streams) : nothing}${streams.map(streamHtml)}`;
}
