/** What each stream sustains against what it needs: a range, the need with reserve, the ceiling. */
import type { Level } from '../model/finding.ts';
import { formatRate } from '../quantity/index.ts';
import { rateUnit, requireFinite } from './axes.ts';
import { framed } from './frame.ts';
import { roundStep } from './rate-axis.ts';
import { ink, levelStyle, series, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, shorten } from './text.ts';

/** Rates are bytes a second. */
export interface SustainedRow {
  readonly name: string;
  readonly level: Level;
  readonly required: number;
  /** Required with the asked reserve. */
  readonly need: number;
  readonly low: number;
  readonly expected: number;
  readonly high: number;
  readonly ceiling: number;
}

export interface Sustained {
  readonly title: string;
  readonly subtitle?: string;
  readonly note?: string;
  readonly rows: readonly SustainedRow[];
}

const width = 720;
const left = 12;
const right = 24;
const rowHeight = 58;

/**
 * The figure as one SVG: a row a stream, all on one scale from zero.
 * @throws RangeError for a rate that is not finite
 */
export function sustained({ title, subtitle, note, rows }: Sustained): string {
  const rates = rows.flatMap((r) => [r.required, r.need, r.low, r.expected, r.high, r.ceiling]);
  requireFinite('sustained rates', rates);
  const frame = { title, width, ...(subtitle ? { subtitle } : {}), ...(note ? { note } : {}) };
  const most = Math.max(0, ...rates);
  if (most === 0) {
    const description = 'No stream is rated.';
    return framed({ ...frame, description, note: description }, { content: none, height: 8 });
  }
  const unit = rateUnit(rates);
  const scale = (width - left - right) / most;
  const drawn = rows.map((r, i) => row(r, i * rowHeight, scale));
  const axis = axisOf(most, unit.factor, unit.symbol, scale, rows.length * rowHeight);
  const description = rows
    .map(
      (r) =>
        `${r.name}: ${r.level}, needs ${formatRate(r.need)}, sustains ${formatRate(r.low)} to ` +
        `${formatRate(r.high)}, expected ${formatRate(r.expected)}, ceiling ${formatRate(r.ceiling)}.`,
    )
    .join(' ');
  const key = [
    { text: 'sustained, low to high; expected', style: series.predicted, sign: 'band' },
    { text: 'required', style: { ...series.required, dash: '' }, sign: 'line' },
    { text: 'required and asked reserve', style: series.required, sign: 'line' },
    { text: 'ceiling', style: series.ceiling, sign: 'line' },
  ] as const;
  const height = rows.length * rowHeight + 34;
  return framed({ ...frame, description, key }, { content: together([axis, ...drawn]), height });
}

const none: Svg = { svg: '' };

function tick(x: number, top: number, stroke: string, dash?: string): Svg {
  return element('path', {
    d: `M${coordinate(x)} ${top + 20}v24`,
    stroke,
    'stroke-width': weight.data,
    'stroke-dasharray': dash,
  });
}

function row(r: SustainedRow, top: number, scale: number): Svg {
  const at = (rate: number) => left + rate * scale;
  const { colour, sign } = levelStyle[r.level];
  const words = `${formatRate(r.low)} to ${formatRate(r.high)}, needs ${formatRate(r.need)}`;
  const name = shorten(`${sign} ${r.level}   ${r.name}`, 360, typeSize.text);
  return together([
    label(name, { x: left, y: top + 14, size: typeSize.text, fill: colour, bold: true }),
    label(words, {
      x: width - right,
      y: top + 14,
      size: typeSize.small,
      anchor: 'end',
      fill: ink.soft,
    }),
    element('rect', {
      x: left,
      y: top + 22,
      width: at(r.low) - left,
      height: 20,
      fill: series.predicted.colour,
      'fill-opacity': '0.55',
    }),
    element('rect', {
      x: at(r.low),
      y: top + 22,
      width: at(r.high) - at(r.low),
      height: 20,
      fill: series.predicted.colour,
      'fill-opacity': `${series.predicted.fillOpacity}`,
    }),
    tick(at(r.expected), top, series.predicted.colour),
    tick(at(r.ceiling), top, series.ceiling.colour, series.ceiling.dash),
    tick(at(r.required), top, series.required.colour),
    tick(at(r.need), top, series.required.colour, series.required.dash),
  ]);
}

/** Round numbers of the unit below the rows. */
function axisOf(most: number, factor: number, symbol: string, scale: number, y: number): Svg {
  const step = roundStep(most / factor / 6);
  const line = `M${left} ${y - 6}H${width - right}`;
  const frame = { stroke: ink.text, 'stroke-width': weight.frame };
  const ticks: Svg[] = [element('path', { d: line, ...frame })];
  for (let n = 0; n * step * factor <= most * 1.0001; n++) {
    const x = left + n * step * factor * scale;
    const text = `${Math.round(n * step * 1000) / 1000}`;
    ticks.push(
      element('path', {
        d: `M${coordinate(x)} ${y - 6}v6`,
        stroke: ink.text,
        'stroke-width': weight.frame,
      }),
      label(text, { x, y: y + 14, size: typeSize.small, anchor: n === 0 ? 'start' : 'middle' }),
    );
  }
  const unit = `rate, ${symbol}`;
  ticks.push(label(unit, { x: left, y: y + 28, size: typeSize.small, fill: ink.soft }));
  return together(ticks);
}
