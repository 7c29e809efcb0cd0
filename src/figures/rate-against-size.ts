/** Rate against transfer size: what was measured, what is predicted with its range, and the ceiling. */
import { formatRate, formatSize } from '../quantity/index.ts';
import { bySize, rateUnit, requireFinite, sizeTicks } from './axes.ts';
import { framed, type KeyEntry } from './frame.ts';
import { chart, grid, Plot } from './plot.ts';
import { ink, series, weight } from './style.ts';

/** Rates are bytes a second, sizes bytes. */
export interface RateAgainstSize {
  /** The finding in a sentence. */
  readonly title: string;
  readonly subtitle?: string;
  readonly note?: string;
  /** Points, with the spread of their repeats where there were several. */
  readonly measured: readonly {
    readonly size: number;
    readonly rate: number;
    readonly low?: number;
    readonly high?: number;
  }[];
  /** In order of size. */
  readonly predicted: readonly {
    readonly size: number;
    readonly low: number;
    readonly expected: number;
    readonly high: number;
  }[];
  readonly ceiling: readonly { readonly size: number; readonly rate: number }[];
  readonly required?: number;
}

const width = 720;
const height = 380;

/** The figure as one SVG; an empty one says that there is nothing to show. */
export function rateAgainstSize(data: RateAgainstSize): string {
  const { title, subtitle, note, measured, predicted, ceiling, required } = data;
  const sizes = [...measured, ...predicted, ...ceiling].map((p) => p.size);
  const frame = { title, width, ...(subtitle ? { subtitle } : {}), ...(note ? { note } : {}) };
  if (sizes.length === 0) {
    const description = 'No point was measured and none is predicted.';
    return framed({ ...frame, description, note: description }, nothing);
  }
  const rates = [
    ...measured.flatMap((p) => [p.rate, p.high ?? 0]),
    ...predicted.map((p) => p.high),
    ...ceiling.map((p) => p.rate),
    required ?? 0,
  ];
  const lows = [...measured, ...predicted].map((p) => p.low);
  requireFinite('rate against size', [...sizes, ...rates, ...lows]);
  const unit = rateUnit(rates);
  const scaled = (rate: number) => rate / unit.factor;
  const [least, most] = [Math.min(...sizes), Math.max(...sizes)];
  const marks = [
    Plot.gridX(sizeTicks(least, most), grid),
    Plot.gridY(grid),
    Plot.ruleY([0], { stroke: ink.text, strokeWidth: weight.frame }),
    Plot.areaY(predicted, {
      x: 'size',
      y1: (p) => scaled(p.low),
      y2: (p) => scaled(p.high),
      fill: series.predicted.colour,
      fillOpacity: series.predicted.fillOpacity,
    }),
    Plot.lineY(ceiling, {
      x: 'size',
      y: (p) => scaled(p.rate),
      stroke: series.ceiling.colour,
      strokeWidth: weight.data,
      strokeDasharray: series.ceiling.dash,
    }),
    Plot.lineY(predicted, {
      x: 'size',
      y: (p) => scaled(p.expected),
      stroke: series.predicted.colour,
      strokeWidth: weight.data,
    }),
    ...(required === undefined
      ? []
      : [
          Plot.ruleY([scaled(required)], {
            stroke: series.required.colour,
            strokeWidth: weight.data,
            strokeDasharray: series.required.dash,
          }),
        ]),
    Plot.ruleX(
      measured.filter((p) => p.low !== undefined && p.high !== undefined),
      {
        x: 'size',
        y1: (p) => scaled(p.low),
        y2: (p) => scaled(p.high),
        stroke: series.measured.colour,
        strokeWidth: weight.frame,
      },
    ),
    Plot.dot(measured, {
      x: 'size',
      y: (p) => scaled(p.rate),
      fill: series.measured.colour,
      r: 3.5,
    }),
  ];
  const drawing = chart({
    width,
    height,
    ...bySize(least, most),
    y: {
      domain: [0, 1.04 * scaled(Math.max(...rates))],
      label: `rate, ${unit.symbol}`,
      labelArrow: 'none',
      labelOffset: 46,
      nice: true,
      ticks: 6,
      tickFormat: (rate: number) => `${rate}`,
    },
    marks,
  });
  return framed({ ...frame, description: described(data), key: keyOf(data) }, drawing);
}

const nothing = { content: { svg: '' }, height: 8 };

function keyOf({ measured, predicted, ceiling, required }: RateAgainstSize): KeyEntry[] {
  const spread = measured.some((p) => p.low !== undefined);
  const key: KeyEntry[] = [];
  if (measured.length > 0) {
    const text = spread ? 'measured: median, least to greatest' : 'measured';
    key.push({ text, style: series.measured, sign: 'point' });
  }
  if (predicted.length > 0) {
    key.push({ text: 'predicted: expected, low to high', style: series.predicted, sign: 'band' });
  }
  if (ceiling.length > 0) {
    key.push({ text: 'ceiling: wire and standard alone', style: series.ceiling, sign: 'line' });
  }
  if (required !== undefined) {
    const text = `required: ${formatRate(required)}`;
    key.push({ text, style: series.required, sign: 'line' });
  }
  return key;
}

function described({ measured, predicted }: RateAgainstSize): string {
  const ends = (points: readonly { readonly size: number }[], rate: readonly number[]) =>
    `from ${formatRate(rate[0]!)} at ${formatSize(points[0]!.size)} to ` +
    `${formatRate(rate.at(-1)!)} at ${formatSize(points.at(-1)!.size)}`;
  const sentences: string[] = [];
  const inOrder = [...measured].sort((a, b) => a.size - b.size);
  if (inOrder.length > 0) {
    const rate = inOrder.map((p) => p.rate);
    sentences.push(`Measured: ${inOrder.length} points, ${ends(inOrder, rate)}.`);
  }
  if (predicted.length > 0) {
    const rate = predicted.map((p) => p.expected);
    sentences.push(`Predicted: ${ends(predicted, rate)}.`);
  }
  return sentences.join(' ');
}
