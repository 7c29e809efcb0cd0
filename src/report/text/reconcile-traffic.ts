/** Packet logs and captures of a reconciliation as text. */
import type { TrafficDirection, TrafficEvidence } from '../../model/reconcile.ts';
import { formatRate, formatSize, formatTime } from '../../quantity/index.ts';
import { cleanText } from '../clean.ts';
import { groupedTicks } from './ledgers.ts';
import type { Page } from './page.ts';

/** Most kinds written for a direction. */
const KINDS_MOST = 8;

function optional(value: number | undefined, word: (value: number) => string): string {
  return value === undefined ? '' : word(value);
}

/** The middle of the bins: half of the gaps are below it. */
function usualGap(gaps: NonNullable<TrafficDirection['gaps']>): string {
  const all = gaps.reduce((sum, bin) => sum + bin.packets, 0);
  let seen = 0;
  for (const { from, below, packets } of gaps) {
    seen += packets;
    if (2 * seen >= all) return `${formatTime(from)} to ${formatTime(below)}`;
  }
  return '';
}

function kindsText({ kinds }: TrafficDirection): string {
  const parts = kinds
    .slice(0, KINDS_MOST)
    .map((k) => `${groupedTicks(k.packets)} ${cleanText(k.kind, '(no kind)')}`);
  const more = kinds.length > KINDS_MOST ? [`${kinds.length - KINDS_MOST} more kinds`] : [];
  return [...parts, ...more].join(', ');
}

/** One part a file. */
export function writeTraffic(page: Page, traffic: readonly TrafficEvidence[]): void {
  for (const t of traffic) {
    page.heading(`Packets: ${cleanText(t.file)}`);
    const span = t.spanSeconds === undefined ? '' : ` in ${formatTime(t.spanSeconds)}`;
    page.paragraph(`${t.format}: ${groupedTicks(t.packets)} packets${span}`);
    page.space();
    page.table(
      [
        { title: 'direction', least: 9 },
        { title: 'packets', align: 'right' },
        { title: 'bytes', align: 'right' },
        { title: 'rate', align: 'right' },
        { title: 'busiest window', align: 'right', least: 10 },
        { title: 'usual gap', least: 10 },
      ],
      t.directions.map((d) => [
        d.direction,
        groupedTicks(d.packets),
        optional(d.bytes, formatSize),
        optional(d.rate, formatRate),
        optional(d.peak, formatRate),
        d.gaps ? usualGap(d.gaps) : '',
      ]),
    );
    for (const d of t.directions) {
      page.labelled(cleanText(d.direction), kindsText(d), 2, 10);
      const c = d.compared;
      if (!c) continue;
      const range = `${formatRate(c.predicted.low)} to ${formatRate(c.predicted.high)}`;
      page.labelled(
        'payload',
        `${cleanText(c.stream)}: ${formatRate(c.rate)}, predicted ${range}: ${c.standing}`,
        2,
        10,
      );
    }
  }
}
