/** Values that may be ranges, compared without pretending to know more than the ends. */
import {
  add,
  compare,
  div,
  fromDecimal,
  mul,
  type Rational,
  rational,
  toDecimal,
  toNumber,
} from '../quantity/index.ts';

/** Ends of a value in base units; equal when the value is exact. */
export interface Span {
  readonly low: Rational;
  readonly high: Rational;
}

/** `within`: surely at or below the limit; `beyond`: surely above; `overlap`: the ranges cross. */
export type Standing = 'within' | 'beyond' | 'overlap';

/** Need against what there is; at the limit counts as within. */
export function against(need: Span, have: Span): Standing {
  if (compare(need.high, have.low) <= 0) return 'within';
  return compare(need.low, have.high) > 0 ? 'beyond' : 'overlap';
}

/** `same`: surely equal; `different`: surely not; `overlap`: may be either. */
export function alike(a: Span, b: Span): 'same' | 'different' | 'overlap' {
  if (compare(a.high, b.low) < 0 || compare(b.high, a.low) < 0) return 'different';
  const points = [a.low, a.high, b.low, b.high];
  return points.every((p) => compare(p, a.low) === 0) ? 'same' : 'overlap';
}

/** One value from decimal text in base units. */
export function point(text: string): Span {
  const value = fromDecimal(text);
  return { low: value, high: value };
}

/** A length from a table's millimetres. */
export function millimetres(value: number): Span {
  const metres = div(fromDecimal(String(value)), rational(1000));
  return { low: metres, high: metres };
}

export function sum(a: Span, b: Span): Span {
  return { low: add(a.low, b.low), high: add(a.high, b.high) };
}

/** Product of two values that are not negative. */
export function product(a: Span, b: Span): Span {
  return { low: mul(a.low, b.low), high: mul(a.high, b.high) };
}

/** The lower of two limits, end by end. */
export function lower(a: Span, b: Span): Span {
  return {
    low: compare(a.low, b.low) <= 0 ? a.low : b.low,
    high: compare(a.high, b.high) <= 0 ? a.high : b.high,
  };
}

/** `14.3 W`, or `13.9..14.3 W` for a range; six significant digits. */
export function spanText(span: Span, unit: string): string {
  const low = toDecimal(span.low, 6);
  const high = toDecimal(span.high, 6);
  return low === high ? `${low} ${unit}` : `${low}..${high} ${unit}`;
}

/** A length in millimetres, as drawings have it. */
export function lengthText(span: Span): string {
  const thousand = rational(1000);
  return spanText({ low: mul(span.low, thousand), high: mul(span.high, thousand) }, 'mm');
}

/** A length in metres as a number of millimetres, for looking up tables. */
export function inMillimetres(metres: Rational): number {
  return toNumber(mul(metres, rational(1000)));
}
