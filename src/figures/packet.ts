/** How a packet is built: its parts in order on the wire, as long as they are, each with its bytes. */
import type { AccountId } from '../model/accounts.ts';
import { formatPercent } from '../quantity/index.ts';
import { requireFinite } from './axes.ts';
import { framed } from './frame.ts';
import { swatches } from './palette.ts';
import { ink, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, textWidth } from './text.ts';

export interface PacketFigure {
  readonly title: string;
  readonly subtitle?: string;
  readonly note?: string;
  /** In order of transmission; whole bytes. */
  readonly parts: readonly {
    readonly name: string;
    readonly bytes: number;
    readonly account: AccountId;
  }[];
}

const width = 720;
const left = 12;
const right = 12;
const barHeight = 34;
const lineHeight = 20;

/** Least width of a part, so that one byte beside thousands still shows. */
const LEAST = 4;

/** Widths that sum to `room`: in proportion, none below the least. */
function widths(bytes: readonly number[], room: number): number[] {
  const total = bytes.reduce((a, b) => a + b, 0);
  const raw = bytes.map((b) => (b * room) / total);
  const small = raw.map((w) => w < LEAST);
  const fixed = small.filter(Boolean).length * LEAST;
  const rest = raw.reduce((sum, w, i) => (small[i] ? sum : sum + w), 0);
  return raw.map((w, i) => (small[i] ? LEAST : (w * (room - fixed)) / rest));
}

/**
 * The figure as one SVG: a bar to scale, and below it every part by name.
 * @throws RangeError for a part without a finite number of bytes
 */
export function packetFigure({ title, subtitle, note, parts }: PacketFigure): string {
  requireFinite(
    'packet',
    parts.map((p) => p.bytes),
  );
  const frame = { title, width, ...(subtitle ? { subtitle } : {}), ...(note ? { note } : {}) };
  const shown = parts.filter((p) => p.bytes > 0);
  const total = shown.reduce((sum, p) => sum + p.bytes, 0);
  if (total === 0) {
    const description = 'The packet has no bytes.';
    return framed({ ...frame, description, note: description }, { content: none, height: 8 });
  }
  const wide = widths(
    shown.map((p) => p.bytes),
    width - left - right,
  );
  let x = left;
  const pieces: Svg[] = [];
  shown.forEach((part, i) => {
    const w = wide[i]!;
    const { fill, ink: colour } = swatches[part.account];
    const words = `${part.bytes}`;
    pieces.push(
      element('rect', {
        x,
        y: 4,
        width: w,
        height: barHeight,
        fill,
        stroke: ink.paper,
        'stroke-width': weight.frame,
      }),
    );
    if (textWidth(words, typeSize.text) + 4 <= w) {
      const at = { x: x + w / 2, y: 4 + barHeight / 2 + 4, size: typeSize.text };
      pieces.push(label(words, { ...at, anchor: 'middle', fill: colour, bold: true }));
    }
    pieces.push(entry(part, i, x + w / 2, total));
    x += w;
  });
  const bottom = 4 + barHeight + 22 + shown.length * lineHeight;
  const description =
    `${total} bytes on the wire: ` + `${shown.map((p) => `${p.name} ${p.bytes} B`).join(', ')}.`;
  return framed({ ...frame, description }, { content: together(pieces), height: bottom + 6 });
}

const none: Svg = { svg: '' };

/** One part by name, and a number that ties it to its place in the bar. */
function entry(
  { name, bytes, account }: PacketFigure['parts'][number],
  i: number,
  middle: number,
  total: number,
): Svg {
  const y = 4 + barHeight + 30 + i * lineHeight;
  const number = `${i + 1}`;
  return together([
    element('path', {
      d: `M${coordinate(middle)} ${4 + barHeight}v5`,
      stroke: ink.text,
      'stroke-width': weight.frame,
    }),
    // Parts side by side and a few units wide: their numbers keep apart in two rows.
    label(number, {
      x: middle,
      y: 4 + barHeight + (i % 2 === 0 ? 14 : 23),
      size: typeSize.small,
      anchor: 'middle',
    }),
    element('rect', {
      x: left,
      y: y - 6,
      width: 14,
      height: 12,
      fill: swatches[account].fill,
      stroke: ink.line,
    }),
    label(`${number}  ${name}`, { x: left + 22, y: y + 4, size: typeSize.text }),
    label(`${bytes} B`, { x: 420, y: y + 4, size: typeSize.text, anchor: 'end' }),
    label(formatPercent(bytes / total), {
      x: 500,
      y: y + 4,
      size: typeSize.text,
      anchor: 'end',
      fill: ink.soft,
    }),
  ]);
}
