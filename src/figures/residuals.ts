/** How far measured points lie from what is predicted, in parts of the prediction, by size. */
import { formatPercent } from '../quantity/index.ts';
import { bySize, requireFinite, sizeTicks } from './axes.ts';
import { framed } from './frame.ts';
import { chart, grid, Plot } from './plot.ts';
import { ink, ordered, weight } from './style.ts';

export interface Residuals {
  readonly title: string;
  readonly subtitle?: string;
  readonly note?: string;
  /** What is compared: rates, measured over predicted (when absent), or times, the other way round. */
  readonly of?: 'rate' | 'time';
  /** `series` groups points that belong together, such as writes and reads; six at most. */
  readonly points: readonly {
    readonly series: string;
    readonly size: number;
    /** measured / predicted − 1 of a rate; predicted / measured − 1 of a time. */
    readonly residual: number;
  }[];
  /** Half width of the range of 90 % that the model claims, as a fraction. */
  readonly band?: number;
}

const width = 720;
const height = 260;

/**
 * The figure as one SVG.
 * @throws RangeError for more than six series: they could not be told apart
 */
export function residuals({ title, subtitle, note, of, points, band }: Residuals): string {
  const names = [...new Set(points.map((p) => p.series))];
  if (names.length > ordered.length) {
    throw new RangeError(`residuals: at most ${ordered.length} series, got ${names.length}`);
  }
  const frame = { title, width, ...(subtitle ? { subtitle } : {}), ...(note ? { note } : {}) };
  if (points.length === 0) {
    const description = 'There is no point to compare.';
    return framed(
      { ...frame, description, note: description },
      { content: { svg: '' }, height: 8 },
    );
  }
  const sizes = points.map((p) => p.size);
  requireFinite('residuals', [...sizes, ...points.map((p) => p.residual), band]);
  const [least, most] = [Math.min(...sizes), Math.max(...sizes)];
  const worst = Math.max(0.01, band ?? 0, ...points.map((p) => Math.abs(p.residual)));
  const marks = [
    Plot.gridX(sizeTicks(least, most), grid),
    Plot.gridY(grid),
    ...(band === undefined
      ? []
      : [
          Plot.rect([{ low: -100 * band, high: 100 * band }], {
            x1: least === most ? least / 2 : least,
            x2: least === most ? most * 2 : most,
            y1: 'low',
            y2: 'high',
            fill: ordered[0]!.colour,
            fillOpacity: 0.1,
          }),
        ]),
    Plot.ruleY([0], { stroke: ink.text, strokeWidth: weight.frame }),
    ...names.map((name, i) =>
      Plot.dot(
        points.filter((p) => p.series === name),
        {
          x: 'size',
          y: (p) => 100 * p.residual,
          fill: ordered[i]!.colour,
          symbol: ordered[i]!.symbol!,
          r: 3.5,
        },
      ),
    ),
  ];
  const drawing = chart({
    width,
    height,
    ...bySize(least, most),
    y: {
      domain: [-110 * worst, 110 * worst],
      label: of === 'time' ? 'predicted less measured time, %' : 'measured less predicted rate, %',
      labelArrow: 'none',
      labelOffset: 46,
      ticks: 6,
    },
    marks,
  });
  const bandKey = {
    text: `90 % of points are expected within ±${formatPercent(band ?? 0)}`,
    style: { label: '', colour: ordered[0]!.colour, fillOpacity: 0.1 },
    sign: 'area',
  } as const;
  const key = [
    ...names.map((text, i) => ({ text, style: ordered[i]!, sign: 'point' }) as const),
    ...(band === undefined ? [] : [bandKey]),
  ];
  const description = `${points.length} points; the farthest is ${formatPercent(
    Math.max(...points.map((p) => Math.abs(p.residual))),
  )} from its prediction.`;
  return framed({ ...frame, description, key }, drawing);
}
