/**
 * The closed unit table. Symbols are case-sensitive; each unit takes only the prefixes listed for
 * it, so that a slip of case (`mHz` for `MHz`, `MW` for `mW`) is an error and not another value.
 *
 * Worked equalities (a test holds each of them):
 *   1 B = 8 bit            8 Kib = 8192 bit = 1 KiB = 1024 B       1 kB = 1000 B
 *   1 MB = 10^6 B          1 MiB = 2^20 B = 1048576 B              1 Mibit/s = 1048576 bit/s
 *   1 MB/s = 8 Mbit/s      600 MB/s = 4.8 Gbit/s                   13.12 us = 13120000 ps
 *   71 degC = 344.15 K     a difference of 71 degC = 71 K          20 % = 1/5
 *
 * Sources: SI prefixes, SI Brochure (9th edition, 2019) table 7; binary prefixes and bit (b, bit)
 * and byte (B), IEC 80000-13:2008; 0 degC = 273.15 K, SI Brochure section 2.3.1; baud (Bd),
 * IEC 80000-13:2008. Transfers (T/s) and samples (S/s) a second: usage of the trade.
 */
import { type Dimension, dimensions } from './dimension.ts';
import { add, div, mul, one, type Rational, rational, sub, zero } from './rational.ts';

/** A prefix and the factor it stands for. */
export interface Prefix {
  readonly symbol: string;
  readonly factor: Rational;
}

function tenTo(power: number): Rational {
  return power >= 0 ? rational(10n ** BigInt(power)) : rational(1n, 10n ** BigInt(-power));
}

const none: Prefix = { symbol: '', factor: one };
const femto: Prefix = { symbol: 'f', factor: tenTo(-15) };
const pico: Prefix = { symbol: 'p', factor: tenTo(-12) };
const nano: Prefix = { symbol: 'n', factor: tenTo(-9) };
/** U+00B5 micro sign, shown; U+03BC Greek mu and the letter u are read as the same. */
const micro: Prefix = { symbol: 'µ', factor: tenTo(-6) };
const milli: Prefix = { symbol: 'm', factor: tenTo(-3) };
const centi: Prefix = { symbol: 'c', factor: tenTo(-2) };
const kilo: Prefix = { symbol: 'k', factor: tenTo(3) };
const mega: Prefix = { symbol: 'M', factor: tenTo(6) };
const giga: Prefix = { symbol: 'G', factor: tenTo(9) };
const tera: Prefix = { symbol: 'T', factor: tenTo(12) };
const peta: Prefix = { symbol: 'P', factor: tenTo(15) };
const exa: Prefix = { symbol: 'E', factor: tenTo(18) };
const upward = [none, kilo, mega, giga, tera, peta, exa];
const rates = [none, kilo, mega, giga, tera];

/** Ki = 2^10, Mi = 2^20 … Ei = 2^60; for bits and bytes only. */
export const binaryPrefixes: readonly Prefix[] = ['Ki', 'Mi', 'Gi', 'Ti', 'Pi', 'Ei'].map(
  (symbol, i) => ({ symbol, factor: rational(1n << BigInt(10 * (i + 1))) }),
);
/** None, k, M … E. */
export const decimalPrefixes: readonly Prefix[] = upward;
const data = [...upward, ...binaryPrefixes];

/** One unit and what it can mean; value in base units = written × factor + offset. */
export interface UnitRow {
  /** The symbol shown, without prefix, then the other spellings read as the same. */
  readonly symbols: readonly string[];
  /** In order of preference when the reader of a text does not say what is wanted. */
  readonly dimensions: readonly Dimension[];
  readonly factor: Rational;
  /** Base units at the zero of the scale; 273.15 for absolute degC, zero for all others. */
  readonly offset: Rational;
  readonly prefixes: readonly Prefix[];
}

function unit(
  symbols: readonly string[],
  dimensions: readonly Dimension[],
  prefixes: readonly Prefix[] = [none],
  factor: Rational = one,
  offset: Rational = zero,
): UnitRow {
  return { symbols, dimensions, factor, offset, prefixes };
}

const eight = rational(8);
const iceKelvin = rational(27315, 100);

/** Every unit. The first row of a dimension is the one shown for it. */
export const units: readonly UnitRow[] = [
  unit(['%'], ['fraction'], [none], rational(1, 100)),
  unit([''], ['count', 'fraction']),
  unit(['B'], ['size'], data, eight),
  unit(['bit', 'b'], ['size'], data),
  unit(['B/s'], ['data rate'], data, eight),
  unit(['bit/s', 'b/s'], ['data rate'], data),
  unit(['T/s'], ['transfer rate'], rates),
  unit(['Bd', 'baud'], ['symbol rate'], rates),
  unit(['S/s'], ['sample rate'], rates),
  // One sample a period: where a sample rate is wanted, 96 kHz is read as 96 kS/s.
  unit(['Hz'], ['frequency', 'sample rate'], rates),
  unit(['s'], ['time'], [femto, pico, nano, micro, milli, none]),
  unit(['m'], ['length'], [nano, micro, milli, centi, none, kilo]),
  unit(['°C', 'degC'], ['temperature'], [none], one, iceKelvin),
  unit(['K'], ['temperature', 'temperature difference']),
  // Always a difference, where `K` alone would be taken for an absolute temperature.
  unit(['Kdiff'], ['temperature difference']),
  unit(['°C', 'degC'], ['temperature difference']),
  unit(['V'], ['voltage'], [micro, milli, none, kilo]),
  unit(['A'], ['current'], [micro, milli, none]),
  unit(['W'], ['power'], [micro, milli, none, kilo]),
  unit(['°C/W', 'degC/W'], ['thermal resistance']),
  unit(['K/W'], ['thermal resistance'], [milli, none]),
  unit(['dB'], ['loss']),
  unit(['m³/h', 'm3/h'], ['volume flow']),
  unit(['m³/s', 'm3/s'], ['volume flow'], [none], rational(3600)),
  // Cubic feet a minute; a foot is 0.3048 m (international yard and pound agreement, 1959).
  unit(['CFM'], ['volume flow'], [none], rational(60n * 3048n ** 3n, 10n ** 12n)),
];

/** One meaning of one spelling: `value in base units = written × factor + offset`. */
export interface UnitMeaning {
  readonly dimension: Dimension;
  readonly factor: Rational;
  readonly offset: Rational;
}

function prefixSpellings(prefix: Prefix): readonly string[] {
  return prefix === micro ? ['µ', 'μ', 'u'] : [prefix.symbol];
}

function buildSpellings(): ReadonlyMap<string, readonly UnitMeaning[]> {
  const found = new Map<string, UnitMeaning[]>();
  for (const { symbols, dimensions, prefixes, factor, offset } of units) {
    for (const prefix of prefixes) {
      const meanings = dimensions.map((dimension) => ({
        dimension,
        factor: mul(factor, prefix.factor),
        offset,
      }));
      for (const written of prefixSpellings(prefix)) {
        for (const symbol of symbols) {
          const spelling = written + symbol;
          found.set(spelling, [...(found.get(spelling) ?? []), ...meanings]);
        }
      }
    }
  }
  return found;
}

/** Every accepted spelling, prefix included, with its meanings in order of preference. */
export const spellings: ReadonlyMap<string, readonly UnitMeaning[]> = buildSpellings();

/** What `spelling` means as `dimension`; undefined when it is no unit of that. */
export function unitOf(spelling: string, dimension: Dimension): UnitMeaning | undefined {
  return spellings.get(spelling)?.find((meaning) => meaning.dimension === dimension);
}

/** A number written in that unit, in base units: 71 in degC is 344.15 K. */
export function toBase(written: Rational, unitMeaning: UnitMeaning): Rational {
  return add(mul(written, unitMeaning.factor), unitMeaning.offset);
}

/** A value in base units as a number of that unit: the inverse of `toBase`. */
export function fromBase(value: Rational, unitMeaning: UnitMeaning): Rational {
  const { factor, offset } = unitMeaning;
  return div(offset.n === 0n ? value : sub(value, offset), factor);
}

interface UsualSymbol {
  readonly symbol: string;
  readonly factor: Rational;
  readonly prefixes: readonly Prefix[];
}

/** The unit shown for a dimension, with the prefixes it is shown with, least first. */
export function usualSymbol(dimension: Dimension): UsualSymbol {
  return usualSymbols[dimension];
}

const usualSymbols = Object.fromEntries(
  Object.keys(dimensions).map((dimension) => [dimension, findUsual(dimension as Dimension)]),
) as Readonly<Record<Dimension, UsualSymbol>>;

function findUsual(dimension: Dimension): UsualSymbol {
  const { symbols, factor, prefixes } = units.find((u) => u.dimensions.includes(dimension))!;
  const shown = prefixes.filter((p) => p !== centi && !binaryPrefixes.includes(p));
  return { symbol: symbols[0]!, factor, prefixes: shown };
}
