/** A result of several values that may be ranges: its ends, and which of the values it hangs on. */
import type { FindingValue } from '../model/finding.ts';
import {
  abs,
  add,
  compare,
  div,
  type Rational,
  sub,
  type ValueRange,
  zero,
} from '../quantity/index.ts';
import type { Span } from './span.ts';

/** One value a result is worked out from. */
export interface Factor {
  readonly key: string;
  readonly range: ValueRange;
  /** Whether the result rises with it. */
  readonly rises: boolean;
  readonly value: FindingValue;
  /** What to do to know it better. */
  readonly measure: string;
}

/** A result as a function of the factors by key; monotone in each, the others held. */
export type Formula = (at: (key: string) => Rational) => Rational;

/** The result with one factor at `end` and the others as expected. */
function alone(formula: Formula, factors: readonly Factor[], key: string, end: Rational): Rational {
  return formula((k) => (k === key ? end : rangeOf(factors, k).expected));
}

function rangeOf(factors: readonly Factor[], key: string): ValueRange {
  return factors.find((f) => f.key === key)!.range;
}

/** Lowest and highest result over all the ranges, and the expected one. */
export function spread(formula: Formula, factors: readonly Factor[]): Span & ValueRange {
  const end = (up: boolean) =>
    formula((key) => {
      const { range, rises } = factors.find((f) => f.key === key)!;
      return rises === up ? range.high : range.low;
    });
  return {
    low: end(false),
    expected: formula((key) => rangeOf(factors, key).expected),
    high: end(true),
  };
}

/** How much of the result's width comes from one factor, the others as expected. */
export interface Influence {
  readonly factor: Factor;
  readonly width: Rational;
  /** Part of the sum of all widths, 0 to 1; 0 where no factor is a range. */
  readonly share: Rational;
}

/** Influence of each factor, the widest first; equals keep the order of the factors. */
export function influences(formula: Formula, factors: readonly Factor[]): readonly Influence[] {
  const widths = factors.map((factor) => {
    const { low, high } = factor.range;
    const [a, b] = [low, high].map((end) => alone(formula, factors, factor.key, end));
    return { factor, width: abs(sub(b!, a!)) };
  });
  const total = widths.reduce((sum, { width }) => add(sum, width), zero);
  return widths
    .map((w) => ({ ...w, share: total.n === 0n ? zero : div(w.width, total) }))
    .sort((a, b) => compare(b.width, a.width));
}

/** How far the result moves when one factor is larger by `step`, the others as expected. */
export function perUnit(
  formula: Formula,
  factors: readonly Factor[],
  key: string,
  step: Rational,
): Rational {
  const at = rangeOf(factors, key).expected;
  const [here, there] = [at, add(at, step)].map((v) => alone(formula, factors, key, v));
  return sub(there!, here!);
}
