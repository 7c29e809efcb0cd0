/**
 * Units as measurements write them. What the standards define and nobody writes for anything else
 * is exact; what is commonly written for two things is ambiguous, with all that it may mean.
 *
 * Sources: IEC 80000-13:2008 (k = 10^3, Ki = 2^10 …, bit, B = 8 bit); SI Brochure (9th edition,
 * 2019) table 7 for units of time; DW = 4 bytes, PCI Express Base Specification, terms and
 * acronyms. That MB is also written for MiB, b for B and K for Ki is common practice, no source.
 */
import {
  type Dimension,
  div,
  isExact,
  parseQuantity,
  quantity,
  type Rational,
  rational,
  toDecimal,
} from '../quantity/index.ts';
import { type Complaint, quoted } from './notes.ts';
import type { Choice } from './types.ts';

/** What a column with a unit may hold. */
export type UnitRole = 'size' | 'time' | 'rate';

/** Dimension of each, as the quantity parser names it. */
export const dimensionOf: Readonly<Record<UnitRole, Dimension>> = {
  size: 'size',
  time: 'time',
  rate: 'data rate',
};

/** What a spelling means. `factor` is base units (bit, s, bit/s) for each number written. */
export type UnitReading =
  | { readonly kind: 'exact'; readonly factor: Rational }
  | { readonly kind: 'ambiguous'; readonly choices: readonly Choice[] }
  | { readonly kind: 'unknown'; readonly complaint: Complaint };

/** No unit is longer; what is would only cost time. */
const UNIT_LENGTH_MAX = 40;

const powers: Readonly<Record<string, number>> = { k: 1, m: 2, g: 3, t: 4 };
const decimalSymbols = ['', 'k', 'M', 'G', 'T'];
const binarySymbols = ['', 'Ki', 'Mi', 'Gi', 'Ti'];

/** `MB`, `KiB`, `Gbit`, `kbytes`, `b` …: prefix, i of a binary prefix, unit. */
const dataUnit = /^([kKmMgGtT]?)(i?)(B|b|[Bb]its?|[Bb]ytes?|BYTES|BITS)$/;
const times: Readonly<Record<string, number>> = {
  ps: -12,
  ns: -9,
  us: -6,
  µs: -6,
  μs: -6,
  ms: -3,
  s: 0,
};
const longTimes: readonly (readonly [RegExp, string])[] = [
  [/^(?:secs?|seconds?)$/, 's'],
  [/^(?:msecs?|millis|milliseconds?)$/, 'ms'],
  [/^(?:usecs?|µsecs?|micros|microseconds?)$/, 'us'],
  [/^(?:nsecs?|nanos|nanoseconds?)$/, 'ns'],
  [/^(?:psecs?|picoseconds?)$/, 'ps'],
];
/** `/s`, `ps` behind a data unit, `per second`: what makes a size a rate. */
const perSecond =
  /^(.+?)(?:\s*(?:\/|\bper\b)\s*(?:s|sec|second)|ps|\s*s\^-1|\s*s-1|_(?:per_)?(?:s|sec|second))$/;

/** Reads a spelling where a quantity of `role` belongs; the empty one is a missing unit. */
export function readUnit(spelling: string, role: UnitRole): UnitReading {
  const text = spelling.trim();
  if (text === '') return { kind: 'ambiguous', choices: missing[role] };
  if (text.length > UNIT_LENGTH_MAX) return unknown(text, role);
  if (role === 'time') return timeUnit(text) ?? unknown(text, role);
  if (role === 'size') return sizeUnit(text, '') ?? unknown(text, role);
  const data = perSecond.exec(text)?.[1];
  const reading = data === undefined ? undefined : sizeUnit(data, '/s');
  return reading ?? unknown(text, role);
}

function tenTo(power: number): Rational {
  return power < 0 ? rational(1n, 10n ** BigInt(-power)) : rational(10n ** BigInt(power));
}

function timeUnit(text: string): UnitReading | undefined {
  const long = longTimes.find(([pattern]) => pattern.test(text.toLowerCase()))?.[1];
  const power = times[long ?? text];
  return power === undefined ? undefined : { kind: 'exact', factor: tenTo(power) };
}

/** A unit of data; `suffix` is `/s` where it is a rate. */
function sizeUnit(text: string, suffix: string): UnitReading | undefined {
  if (/^(?:DW|DWs|dwords?|DWORDs?)$/.test(text)) return { kind: 'exact', factor: rational(32) };
  if (/^words?$/.test(text)) {
    const choices = [2, 4, 8].map((n) => choice(`${n} B`, rational(8 * n), suffix, false));
    return { kind: 'ambiguous', choices };
  }
  if (suffix === '' && /^[kKMG]$/.test(text)) return prefixed(text.toLowerCase(), 'B', suffix);
  const match = dataUnit.exec(text);
  if (match === null) return undefined;
  const [, prefix = '', binary = '', unit = ''] = match;
  if (binary !== '' && prefix === '') return undefined;
  const power = powers[prefix.toLowerCase()] ?? 0;
  if (unit === 'b') return eitherUnit(power, binary !== '', suffix);
  const bits = /^bit/i.test(unit) ? 1 : 8;
  if (power === 0) return { kind: 'exact', factor: rational(bits) };
  const symbol = bits === 8 ? 'B' : 'bit';
  if (binary !== '') return { kind: 'exact', factor: factorOf(power, true, bits) };
  // Nobody counts bits by 1024 with a small k or an M; a capital K is written for both.
  if (bits === 1 && prefix !== 'K') return { kind: 'exact', factor: factorOf(power, false, 1) };
  return prefixed(prefix.toLowerCase(), symbol, suffix, prefix !== 'K');
}

function factorOf(power: number, binary: boolean, bits: number): Rational {
  const base = binary ? 1024n : 1000n;
  return rational(base ** BigInt(power) * BigInt(bits));
}

/** 10^3n or 2^10n of a unit; the first is what the standards mean by the prefix. */
function prefixed(prefix: string, unit: 'B' | 'bit', suffix: string, sound = true): UnitReading {
  const power = powers[prefix]!;
  return { kind: 'ambiguous', choices: both(power, unit, suffix, sound) };
}

function both(power: number, unit: 'B' | 'bit', suffix: string, sound: boolean): readonly Choice[] {
  const bits = unit === 'B' ? 8 : 1;
  const decimal = `${decimalSymbols[power]}${unit}${suffix}`;
  const binary = `${binarySymbols[power]}${unit}${suffix}`;
  return [
    choice(decimal, factorOf(power, false, bits), suffix, sound),
    choice(binary, factorOf(power, true, bits), suffix, false),
  ];
}

/** A lone b: a bit by the standard, and a slip for B often enough. */
function eitherUnit(power: number, binary: boolean, suffix: string): UnitReading {
  if (power > 0 && !binary) {
    const bits = both(power, 'bit', suffix, true);
    return { kind: 'ambiguous', choices: [...bits, ...both(power, 'B', suffix, false)] };
  }
  const symbol = binary ? binarySymbols[power]! : '';
  const choices = [
    choice(`${symbol}bit${suffix}`, factorOf(power, binary, 1), suffix, true),
    choice(`${symbol}B${suffix}`, factorOf(power, binary, 8), suffix, false),
  ];
  return { kind: 'ambiguous', choices };
}

function choice(id: string, factor: Rational, suffix: string, standard: boolean): Choice {
  const octets = div(factor, rational(8));
  const inBytes = octets.d === 1n ? `${octets.n} B` : `${factor.n} bit`;
  return { id, meaning: `1 ${id} = ${inBytes}${suffix}`, factor, standard };
}

function choiceOf(unit: string, role: UnitRole): Choice {
  const factor = quantity(`1 ${unit}`, dimensionOf[role]).expected;
  if (role !== 'time') return choice(unit, factor, role === 'rate' ? '/s' : '', false);
  const meaning = `1 ${unit} = ${toDecimal(factor, 12)} s`;
  return { id: unit, meaning, factor, standard: false };
}

const missingUnits: Readonly<Record<UnitRole, readonly string[]>> = {
  size: ['B', 'KiB', 'MiB', 'kB', 'MB'],
  time: ['s', 'ms', 'us', 'ns'],
  rate: ['B/s', 'MB/s', 'MiB/s', 'GB/s', 'GiB/s', 'Mbit/s', 'Gbit/s'],
};
const missing: Readonly<Record<UnitRole, readonly Choice[]>> = {
  size: missingUnits.size.map((u) => choiceOf(u, 'size')),
  time: missingUnits.time.map((u) => choiceOf(u, 'time')),
  rate: missingUnits.rate.map((u) => choiceOf(u, 'rate')),
};

/** The quantity parser knows what people mix up, and says so. */
function unknown(text: string, role: UnitRole): UnitReading {
  const parsed = parseQuantity(`1 ${text}`, dimensionOf[role]);
  if (parsed.ok) return { kind: 'exact', factor: parsed.quantity.expected };
  const { expected, next } = parsed.problem;
  const clock = /^(?:cycles?|ticks?|clocks?|clk|counts?)$/i.test(text) && role === 'time';
  return {
    kind: 'unknown',
    complaint: {
      expected,
      got: quoted(text),
      next: clock
        ? "give the time of one count in the mapping, such as units: {time: '8 ns'}"
        : next,
    },
  };
}

/**
 * A unit of a mapping: a unit of the closed table, meant as the standards define it, or a quantity
 * that one count stands for (`8 ns`). Never ambiguous.
 */
export function mappedUnit(text: string, role: UnitRole): UnitReading {
  const counted = /^\s*[0-9]/.test(text) ? text : `1 ${text}`;
  const parsed = parseQuantity(counted, dimensionOf[role]);
  if (parsed.ok && isExact(parsed.quantity) && parsed.quantity.low.n > 0n) {
    return { kind: 'exact', factor: parsed.quantity.expected };
  }
  const complaint = parsed.ok
    ? { expected: 'one unit above 0', got: quoted(text), next: `write a unit of ${role}` }
    : { expected: parsed.problem.expected, got: quoted(text), next: parsed.problem.next };
  return { kind: 'unknown', complaint };
}
