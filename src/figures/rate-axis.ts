/** A linear axis of rates below a drawing: round numbers of one unit, wherever the scale begins. */
import type { RateUnit } from './axes.ts';
import { ink, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label } from './text.ts';

export interface RateAxis {
  /** Ends of the scale, bytes a second. */
  readonly from: number;
  readonly to: number;
  readonly unit: RateUnit;
  /** Place of a rate. */
  readonly at: (rate: number) => number;
  readonly y: number;
  readonly left: number;
  readonly right: number;
}

/** The axis with its unit written below it. */
export function rateAxis({ from, to, unit, at, y, left, right }: RateAxis): Svg {
  const { factor, symbol } = unit;
  const step = roundStep((to - from) / factor / 6);
  const frame = { stroke: ink.text, 'stroke-width': weight.frame };
  const ticks: Svg[] = [element('path', { d: `M${left} ${y}H${right}`, ...frame })];
  const first = Math.ceil(from / factor / step);
  const last = Math.floor((to / factor / step) * 1.000001);
  for (let n = first; n <= last; n++) {
    const x = at(n * step * factor);
    const text = `${Math.round(n * step * 1e6) / 1e6}`;
    ticks.push(
      element('path', { d: `M${coordinate(x)} ${y}v6`, ...frame }),
      label(text, {
        x,
        y: y + 19,
        size: typeSize.small,
        anchor: x < left + 8 ? 'start' : 'middle',
      }),
    );
  }
  const words = from > 0 ? `rate, ${symbol}; the scale does not begin at zero` : `rate, ${symbol}`;
  ticks.push(label(words, { x: left, y: y + 33, size: typeSize.small, fill: ink.soft }));
  return together(ticks);
}

/** 1, 2 or 5 times a power of ten, at least `least`. */
export function roundStep(least: number): number {
  let power = 1;
  while (power > least) power /= 10;
  while (power * 10 <= least) power *= 10;
  return [1, 2, 5, 10].map((m) => m * power).find((s) => s >= least) ?? 10 * power;
}
