/**
 * Quantity to text for people: the prefix that leaves one to three digits before the point, a
 * space, one unit for a whole range. What is written here is read back by `parseQuantity`.
 */
import { exactDigits, fromDecimal, isWhole, toDecimal, withPlaces } from './decimal.ts';
import type { Dimension } from './dimension.ts';
import { fromNumber } from './double.ts';
import { exactQuantity, inUnit, type Quantity, type ValueRange } from './quantity.ts';
import { abs, add, compare, div, equal, max, mul, type Rational, rational } from './rational.ts';
import { binaryPrefixes, decimalPrefixes, type Prefix, usualSymbol } from './units.ts';

type Write = (value: Rational) => string;

/** A value that ends within this many digits is written whole … */
const wholeDigits = 12;
/** … and any other is rounded to this many. */
const roundedDigits = 6;

/**
 * The quantity in `unit`, or in a prefix of the usual unit of its dimension: `13.12 µs`,
 * `600..770 MB/s`, `600..700..770 MB/s` where the expected value is not the midpoint. Values are
 * written in full up to 12 digits and rounded to 6 otherwise, half to even.
 * @throws RangeError when `unit` is no unit of the quantity's dimension.
 */
export function formatQuantity(q: Quantity, unit?: string): string {
  if (unit !== undefined) return formattedIn(q, unit);
  // Quantities do not change, and answers word the same ones again and again.
  const known = usual.get(q);
  if (known !== undefined) return known;
  const text = formattedIn(q, usualUnit(q, wholeOrRounded));
  usual.set(q, text);
  return text;
}

const usual = new WeakMap<Quantity, string>();

function formattedIn(q: Quantity, shown: string): string {
  return withUnit(rangeText(inUnit(q, shown), wholeOrRounded), shown);
}

function wholeOrRounded(value: Rational): string {
  const digits = exactDigits(value, wholeDigits);
  return toDecimal(value, digits === undefined ? roundedDigits : wholeDigits);
}

function rangeText({ low, expected, high }: ValueRange, write: (v: Rational) => string): string {
  if (equal(low, high)) return write(expected);
  const middle = equal(add(low, high), add(expected, expected)) ? '' : `${write(expected)}..`;
  return `${write(low)}..${middle}${write(high)}`;
}

function withUnit(text: string, unit: string): string {
  return unit === '' ? text : `${text} ${unit}`;
}

/** The unit in which the largest of the three values, as written, stays below 1000. */
function usualUnit(q: Quantity, write: Write): string {
  const largest = max(abs(q.low), abs(q.high));
  if (q.dimension !== 'size') {
    const { symbol, factor, prefixes } = usualSymbol(q.dimension);
    return prefixFor(div(largest, factor), prefixes, write) + symbol;
  }
  const { low, expected, high } = inUnit(q, 'B');
  const ends = equal(add(low, high), add(expected, expected)) ? [low, high] : [low, expected, high];
  if (!ends.every(isWhole)) return `${prefixFor(largest, decimalPrefixes, write)}bit`;
  return sizeUnit(ends, write);
}

/** `value` without prefix; the first prefix that leaves it below 1000, else the last. */
function prefixFor(value: Rational, prefixes: readonly Prefix[], write: Write): string {
  if (value.n === 0n) return '';
  const fits = prefixes.find(({ factor }) => {
    if (isBelow(value, 999n, factor)) return true;
    if (!isBelow(value, 1000n, factor)) return false;
    // Only just below a thousand can rounding to what is written reach it.
    return compare(fromDecimal(write(div(value, factor))), thousand) < 0;
  });
  return (fits ?? prefixes.at(-1)!).symbol;
}

/** value < times × factor, without the division. */
function isBelow(value: Rational, times: bigint, factor: Rational): boolean {
  return value.n * factor.d < times * factor.n * value.d;
}

const thousand = rational(1000);
/** Below this many bytes a size that is no whole kB or KiB stays in bytes: 4160 B. */
const plainBytes = rational(10_000);

/** 1024 EiB, past which no binary prefix is left: 2^70 bytes. */
const binaryEnd = rational(1n << 70n);

/**
 * A binary prefix where the largest value is 1 to 1023 of it and all are whole (4 KiB, 16 MiB),
 * bytes for small odd sizes, a decimal prefix for the rest (23.04 MB is 22500 KiB, but no whole
 * MiB).
 */
function sizeUnit(ends: readonly Rational[], write: Write): string {
  const largest = ends.map(abs).reduce(max);
  const binary = binaryPrefixes.findLast(({ factor }) => compare(largest, factor) >= 0);
  const below1024 = compare(largest, binaryEnd) < 0;
  if (binary !== undefined && below1024 && wholeIn(ends, binary.factor)) return `${binary.symbol}B`;
  const small = compare(largest, plainBytes) < 0 && ends.every(isWhole);
  if (small && !wholeIn(ends, thousand)) return 'B';
  return `${prefixFor(largest, decimalPrefixes, write)}B`;
}

function wholeIn(values: readonly Rational[], factor: Rational): boolean {
  return values.every((value) => isWhole(div(value, factor)));
}

/** Digits of the helpers below, which take measured or computed doubles. */
const shortDigits = 4;

function short(value: Rational): string {
  return toDecimal(value, shortDigits);
}

/** A quantity on its way to a text; one of its own would be worded for nothing. */
function unworded(dimension: Dimension, value: Rational): Quantity {
  return exactQuantity(dimension, value, '');
}

/** Bytes per second in 4 digits: `formatRate(603773584.9)` is "603.8 MB/s". */
export function formatRate(bytesPerSecond: number): string {
  const q = unworded('data rate', mul(fromNumber(bytesPerSecond), rational(8)));
  return shortText(q, usualUnit(q, short));
}

/** Seconds in 4 digits: `formatTime(0.0072)` is "7.2 ms". */
export function formatTime(seconds: number): string {
  const q = unworded('time', fromNumber(seconds));
  return shortText(q, usualUnit(q, short));
}

/** Bytes in 4 digits: "23.04 MB"; whole KiB, MiB … keep their binary prefix: "4 KiB". */
export function formatSize(bytes: number): string {
  const q = unworded('size', mul(fromNumber(bytes), rational(8)));
  return shortText(q, sizeUnit([fromNumber(bytes)], short));
}

function shortText(q: Quantity, unit: string): string {
  return withUnit(short(inUnit(q, unit).expected), unit);
}

/** A fraction of one as percent, at most `digits` after the point: 0.2 is "20 %". */
export function formatPercent(fraction: number, digits = 1): string {
  return `${withPlaces(mul(fromNumber(fraction), rational(100)), digits)} %`;
}

/** A ratio in `significant` digits: `formatRatio(1.5368)` is "1.54 times". */
export function formatRatio(ratio: number, significant = 3): string {
  return `${toDecimal(fromNumber(ratio), significant)} times`;
}
