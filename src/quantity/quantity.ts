/**
 * A quantity: what it is, and a low, an expected and a high value in the base unit of its
 * dimension (bit, s, bit/s, K …), all exact. The three are equal for an exact value.
 */
import { isWhole, toDecimal } from './decimal.ts';
import { baseUnit, type Dimension } from './dimension.ts';
import { toNumber } from './double.ts';
import { compare, div, equal, type Rational, rational } from './rational.ts';
import { fromBase, unitOf } from './units.ts';

export interface Quantity {
  readonly dimension: Dimension;
  /** In base units; low ≤ expected ≤ high. */
  readonly low: Rational;
  readonly expected: Rational;
  readonly high: Rational;
  /** As written by whoever gave it. */
  readonly text: string;
}

/** Low, expected and high as plain rationals in a unit that the reader chose. */
export interface ValueRange {
  readonly low: Rational;
  readonly expected: Rational;
  readonly high: Rational;
}

/**
 * A quantity known exactly, `value` in base units: `exactQuantity('size', rational(1024))` is
 * 128 B. Without `text` the value in base units stands in for it.
 */
export function exactQuantity(dimension: Dimension, value: Rational, text?: string): Quantity {
  const written = text ?? `${toDecimal(value, 17)} ${baseUnit(dimension)}`.trimEnd();
  return { dimension, low: value, expected: value, high: value, text: written };
}

/**
 * A quantity known to lie in a range, values in base units.
 * @throws RangeError unless low ≤ expected ≤ high.
 */
export function rangeQuantity(dimension: Dimension, range: ValueRange, text?: string): Quantity {
  const { low, expected, high } = range;
  const written =
    text ??
    `${[low, expected, high].map((v) => toDecimal(v, 17)).join('..')} ${baseUnit(dimension)}`;
  if (compare(low, expected) > 0 || compare(expected, high) > 0) {
    throw new RangeError(`expected low ≤ expected ≤ high; got ${written.trimEnd()}`);
  }
  return { dimension, low, expected, high, text: written.trimEnd() };
}

/** True when low, expected and high are one value. */
export function isExact(q: Quantity): boolean {
  return equal(q.low, q.high);
}

/**
 * The three values in `unit`: a size of 4096 bit in `B` is 512, a temperature of 344.15 K in
 * `degC` is 71.
 * @throws RangeError when `unit` is no unit of the quantity's dimension.
 */
export function inUnit(q: Quantity, unit: string): ValueRange {
  const meaning = unitOf(unit, q.dimension);
  if (meaning === undefined) {
    throw new RangeError(`expected a unit of ${q.dimension}; got "${unit}" for ${q.text}`);
  }
  return eachEnd(q, (value) => fromBase(value, meaning));
}

/** The same asked of low, expected and high; of one value, asked once. */
export function eachEnd<T>(
  range: ValueRange,
  of: (value: Rational) => T,
): { readonly low: T; readonly expected: T; readonly high: T } {
  const expected = of(range.expected);
  if (equal(range.low, range.high)) return { low: expected, expected, high: expected };
  return { low: of(range.low), expected, high: of(range.high) };
}

/**
 * A size as a whole number of bytes.
 * @throws RangeError when it is no size, is a range, is no whole number of bytes, or is above 2^53.
 */
export function bytes(q: Quantity): number {
  if (q.dimension !== 'size') throw new RangeError(`expected a size; got ${q.text}`);
  if (!isExact(q)) throw new RangeError(`expected one size; got the range ${q.text}`);
  const value = div(q.expected, rational(8));
  const number = toNumber(value);
  if (!isWhole(value) || !Number.isSafeInteger(number)) {
    throw new RangeError(`expected whole bytes within 2^53; got ${q.text}`);
  }
  return number;
}
