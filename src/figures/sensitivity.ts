/** What each unknown alone does to a rate: bars about the expected value, the widest on top. */
import { formatRate } from '../quantity/index.ts';
import { rateUnit, requireFinite } from './axes.ts';
import { framed } from './frame.ts';
import { rateAxis } from './rate-axis.ts';
import { ink, type SeriesStyle, series, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, shorten, textWidth } from './text.ts';

/** Rates are bytes a second. */
export interface SensitivityRow {
  readonly name: string;
  /** The range that is stated of it. */
  readonly text: string;
  readonly low: number;
  readonly high: number;
}

export interface Sensitivity {
  readonly title: string;
  readonly subtitle?: string;
  readonly note?: string;
  readonly expected: number;
  /** Required with the asked reserve. */
  readonly need: number;
  readonly rows: readonly SensitivityRow[];
}

const width = 720;
const left = 12;
const right = 24;
const rowHeight = 40;
/** Of the bars. */
const opacity = 0.55;

/** A need farther from the bars than this many of their spreads would squeeze them to lines. */
const FAR = 3;

/** Whether the need is near enough to stand on the scale of the others. */
function isNear(need: number, values: readonly number[]): boolean {
  const [least, most] = [Math.min(...values), Math.max(...values)];
  const room = FAR * (most - least);
  return need >= least - room && need <= most + room;
}

/** Ends of the scale: all values with a tenth of their spread on either side, never below zero. */
function scaleOf(values: readonly number[]): { from: number; to: number } {
  const least = Math.min(...values);
  const most = Math.max(...values);
  // Below a millionth of a byte a second there is nothing to show, and dividing by it overflows.
  const spread = [most - least, most].find((v) => v >= 1e-6) ?? 1;
  return { from: Math.max(0, least - spread / 10), to: most + spread / 10 };
}

/**
 * The figure as one SVG. The scale need not begin at zero: the axis says where it begins.
 * @throws RangeError for a rate that is not finite
 */
export function sensitivity(data: Sensitivity): string {
  const { title, subtitle, note, expected, need, rows } = data;
  const bars = [expected, ...rows.flatMap((r) => [r.low, r.high])];
  requireFinite('sensitivity', [need, ...bars]);
  const near = isNear(need, bars);
  const values = near ? [need, ...bars] : bars;
  const far = near ? '' : `Required and asked reserve is ${formatRate(need)}, off this scale.`;
  const small = [far, note ?? ''].filter((t) => t !== '').join(' ');
  const frame = {
    title,
    width,
    ...(subtitle ? { subtitle } : {}),
    ...(small ? { note: small } : {}),
  };
  if (rows.length === 0) {
    const description = 'No unknown moves the rate.';
    return framed({ ...frame, description, note: description }, { content: none, height: 8 });
  }
  const { from, to } = scaleOf(values);
  const scale = (width - left - right) / (to - from);
  const at = (rate: number) => left + (rate - from) * scale;
  const bottom = rows.length * rowHeight;
  const marks = rows.map((_, i) =>
    together([
      mark(at(expected), i * rowHeight, series.predicted),
      ...(near ? [mark(at(need), i * rowHeight, series.required)] : []),
    ]),
  );
  const content = together([
    rateAxis({ from, to, unit: rateUnit(values), at, y: bottom + 6, left, right: width - right }),
    ...rows.map((r, i) => row(r, i * rowHeight, at)),
    ...marks,
  ]);
  const description =
    `Expected ${formatRate(expected)}, needs ${formatRate(need)}. ` +
    rows
      .map((r) => `${r.name}, ${r.text}: ${formatRate(r.low)} to ${formatRate(r.high)}.`)
      .join(' ');
  const key = [
    {
      text: 'this unknown alone, worst to best',
      style: { ...series.predicted, fillOpacity: opacity },
      sign: 'area',
    },
    { text: 'expected', style: series.predicted, sign: 'line' },
    ...(near
      ? [{ text: 'required and asked reserve', style: series.required, sign: 'line' } as const]
      : []),
  ] as const;
  return framed({ ...frame, description, key }, { content, height: bottom + 40 });
}

const none: Svg = { svg: '' };

/** An upright stroke across one bar: between rows it would cross their words. */
function mark(x: number, top: number, style: SeriesStyle): Svg {
  return element('path', {
    d: `M${coordinate(x)} ${top + 17}v17`,
    stroke: style.colour,
    'stroke-width': weight.data,
    'stroke-dasharray': style.dash,
  });
}

function row(r: SensitivityRow, top: number, at: (rate: number) => number): Svg {
  const ends = `${formatRate(r.low)} to ${formatRate(r.high)}`;
  const room = width - left - right - textWidth(ends, typeSize.small) - 16;
  const name = shorten(`${r.name}: ${r.text}`, room, typeSize.text);
  return together([
    label(name, { x: left, y: top + 13, size: typeSize.text }),
    label(ends, {
      x: width - right,
      y: top + 13,
      size: typeSize.small,
      anchor: 'end',
      fill: ink.soft,
    }),
    element('rect', {
      x: at(r.low),
      y: top + 19,
      // What is there shows, however little it is.
      width: Math.max(1, at(r.high) - at(r.low)),
      height: 13,
      fill: series.predicted.colour,
      'fill-opacity': `${opacity}`,
    }),
  ]);
}
