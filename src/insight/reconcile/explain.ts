/**
 * Which single unknown, at which value, would explain one point, everything else as expected. A value is
 * found by halving where the effect has one direction; where it has none, every legal value is tried.
 */
import type { PointExplanation } from '../../model/reconcile.ts';
import { evaluate } from '../../system/evaluate.ts';
import type { Network } from '../../system/network.ts';
import type { PointNetwork } from '../point-case.ts';
import { changedMost, type Prediction, rateAt } from './predict.ts';
import { isInRange, type Unknown, unknownsOf, valueText } from './unknowns.ts';

/** Within a hundredth there is nothing to explain; a jump that ends so near explains it. */
export const NEAR = 0.01;

/** What a point was measured at, bytes per second: ends, quartiles and median of its repeats. */
export interface MeasuredRate {
  readonly low: number;
  readonly lower: number;
  readonly median: number;
  readonly upper: number;
  readonly high: number;
}

/** True where the middle half of the repeats holds the rate, or it is within 1 % of their median. */
export function meets({ lower, median, upper }: MeasuredRate, rate: number): boolean {
  return (rate >= lower && rate <= upper) || Math.abs(rate / median - 1) <= NEAR;
}

/**
 * Explanations, those within what is stated first, then by how far outside it they lie; empty where none
 * is needed.
 */
export function explainPoint(
  { network }: PointNetwork,
  { rates, center }: Prediction,
  measured: MeasuredRate,
): PointExplanation[] {
  if (meets(measured, rates.expected)) return [];
  const found = unknownsOf(network).flatMap((unknown) => {
    const value = valueFor(network, unknown, rates.expected, measured);
    if (value === undefined) return [];
    const account = changedMost(center, evaluate(network, cornerWith(network, unknown, value)));
    const explanation = { ...explanationOf(unknown, value), ...(account ? { account } : {}) };
    return [{ explanation, outside: timesOutside(unknown, value) }];
  });
  found.sort((a, b) => (a.outside === b.outside ? 0 : a.outside - b.outside));
  return found.map(({ explanation }) => explanation);
}

/** How many times beyond the nearer end of its range a value lies; 1 within it. */
export function timesOutside({ entry }: Unknown, value: number): number {
  const { low, high } = entry.range;
  if (value > high) return high === 0 ? Number.POSITIVE_INFINITY : value / high;
  if (value < low) return value === 0 ? Number.POSITIVE_INFINITY : low / value;
  return 1;
}

/** A value of an unknown for a document. */
export function explanationOf(unknown: Unknown, value: number): Omit<PointExplanation, 'account'> {
  const { entry } = unknown;
  return {
    id: unknown.id,
    name: entry.title,
    text: valueText(unknown, value),
    value: rounded(value * unknown.scale),
    stated: entry.text(),
    inRange: isInRange(unknown, value),
    ask: entry.ask,
  };
}

/** Twelve digits: more are the rounding of a tick's decimal. */
export function rounded(value: number): number {
  return Number(value.toPrecision(12));
}

/** The expected corner with one parameter changed. */
export function cornerWith(network: Network, { index }: Unknown, value: number): number[] {
  const corner = network.parameters.expected();
  corner[index] = value;
  return corner;
}

function valueFor(
  network: Network,
  unknown: Unknown,
  expected: number,
  measured: MeasuredRate,
): number | undefined {
  const at = (value: number) => rateAt(network, cornerWith(network, unknown, value));
  const { effect, range } = unknown.entry;
  if (unknown.values) return nearestOf(unknown.values, range.expected, at, measured);
  if (effect === 'depends') {
    return nearestOf([range.low, range.high], range.expected, at, measured);
  }
  const slower = measured.median < expected;
  const up = slower === (effect === 'lowers');
  const passed = (rate: number) => (slower ? rate <= measured.median : rate >= measured.median);
  const value = firstPassed(range.expected, up ? unknown.most : unknown.least, (v) =>
    passed(at(v)),
  );
  if (value === undefined) return undefined;
  const before = up ? value - 1 : value + 1;
  const nearer =
    before !== range.expected && closer(at(before), at(value), measured) ? before : value;
  return meets(measured, at(nearer)) ? nearer : undefined;
}

function closer(a: number, b: number, { median }: MeasuredRate): boolean {
  return Math.abs(a - median) < Math.abs(b - median);
}

function nearestOf(
  values: readonly number[],
  expected: number,
  at: (value: number) => number,
  measured: MeasuredRate,
): number | undefined {
  let best: { value: number; rate: number } | undefined;
  for (const value of values) {
    if (value === expected) continue;
    const rate = at(value);
    if (best === undefined || closer(rate, best.rate, measured)) best = { value, rate };
  }
  return best && meets(measured, best.rate) ? best.value : undefined;
}

/**
 * The value nearest `from`, towards `end`, from which on `passed` holds; undefined where it does not
 * hold at the end. Steps double first: the end may be far.
 */
export function firstPassed(
  from: number,
  end: number,
  passed: (value: number) => boolean,
): number | undefined {
  const sign = end > from ? 1 : -1;
  const reach = Math.abs(end - from);
  if (reach === 0 || !passed(end)) return undefined;
  let inside = 0;
  let outside = 1;
  while (!passed(from + sign * outside)) {
    inside = outside;
    outside = Math.min(2 * outside, reach);
  }
  while (inside + 1 < outside) {
    const middle = Math.floor((inside + outside) / 2);
    if (passed(from + sign * middle)) outside = middle;
    else inside = middle;
  }
  return from + sign * outside;
}
