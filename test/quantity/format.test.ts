import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  abs,
  compare,
  type Dimension,
  dimensions,
  exactQuantity,
  formatPercent,
  formatQuantity,
  formatRate,
  formatRatio,
  formatSize,
  formatTime,
  mul,
  quantity,
  rational,
  sub,
} from '../../src/quantity/index.ts';
import { binaryPrefixes, spellings } from '../../src/quantity/units.ts';

describe('formatQuantity', () => {
  test.each<[string, Dimension | undefined, string]>([
    ['13.12 us', undefined, '13.12 µs'],
    ['0.0072 s', undefined, '7.2 ms'],
    ['0.4 s', undefined, '400 ms'],
    ['600..770 MB/s', undefined, '600..770 MB/s'],
    ['600..700..770 MB/s', undefined, '600..700..770 MB/s'],
    ['0.9..1.1 GB/s', undefined, '0.9..1.1 GB/s'],
    ['64 ns ± 8 ns', undefined, '56..72 ns'],
    ['1.5 Gbit/s', undefined, '187.5 MB/s'],
    ['1 Mibit/s', undefined, '131.072 kB/s'],
    ['4096 B', undefined, '4 KiB'],
    ['16 MiB', undefined, '16 MiB'],
    ['1..4 KiB', undefined, '1..4 KiB'],
    ['128..4096 B', undefined, '128..4096 B'],
    ['4160 B', undefined, '4160 B'],
    ['4000 B', undefined, '4 kB'],
    ['12345 B', undefined, '12.345 kB'],
    ['1023 EiB', undefined, '1023 EiB'],
    ['1024 EiB', undefined, '1180.59 EB'],
    ['128 B', undefined, '128 B'],
    ['23.04 MB', undefined, '23.04 MB'],
    ['12 bit', undefined, '12 bit'],
    ['2.5 GT/s', undefined, '2.5 GT/s'],
    ['3125 Mbaud', undefined, '3.125 GBd'],
    ['96 kHz', 'sample rate', '96 kS/s'],
    ['33333 kHz', undefined, '33.333 MHz'],
    ['0.149 m', undefined, '149 mm'],
    ['344.15 K', undefined, '71 °C'],
    ['-40..85 degC', undefined, '-40..85 °C'],
    ['14.3 degC', 'temperature difference', '14.3 K'],
    ['-12 V', undefined, '-12 V'],
    ['0.9 A', undefined, '900 mA'],
    ['14.3 W', undefined, '14.3 W'],
    ['0.15 K/W', undefined, '0.15 °C/W'],
    ['0.2', 'fraction', '20 %'],
    ['4', undefined, '4'],
    ['0 s', undefined, '0 s'],
    ['0 B', undefined, '0 B'],
    ['1e-20 s', undefined, '0.00001 fs'],
  ])('%s as %s is %s', (text, wanted, written) => {
    expect(formatQuantity(quantity(text, wanted))).toBe(written);
  });

  test('a unit may be asked for', () => {
    expect(formatQuantity(quantity('600..770 MB/s'), 'Gbit/s')).toBe('4.8..6.16 Gbit/s');
    expect(formatQuantity(quantity('4 KiB'), 'B')).toBe('4096 B');
    expect(formatQuantity(quantity('71 degC'), 'K')).toBe('344.15 K');
    expect(() => formatQuantity(quantity('4 KiB'), 's')).toThrow(RangeError);
  });

  test('what does not end within 12 digits is rounded to 6', () => {
    expect(formatQuantity(exactQuantity('time', rational(1, 3)))).toBe('333.333 ms');
    expect(formatQuantity(exactQuantity('data rate', rational(8n * 10n ** 9n, 7n)))).toBe(
      '142.857 MB/s',
    );
  });

  test('rounding up to 1000 takes the next prefix', () => {
    const nearly = rational(999_999_999_999n * 3n + 2n, 3n * 10n ** 12n); // 0.99999999999966…
    expect(formatQuantity(exactQuantity('time', nearly))).toBe('1 s');
  });
});

/** Powers of two, and the cubic foot of twelve digits, make more digits than are written. */
const decimalSpellings = [...spellings].flatMap(([spelling, meanings]) =>
  spelling === 'CFM' || binaryPrefixes.some((p) => spelling.startsWith(p.symbol))
    ? []
    : meanings.map(({ dimension }) => ({ spelling, dimension })),
);
const allSpellings = [...spellings].flatMap(([spelling, meanings]) =>
  meanings.map(({ dimension }) => ({ spelling, dimension })),
);
const plain = fc
  .tuple(fc.integer({ min: 0, max: 999_999 }), fc.integer({ min: 0, max: 5 }))
  .map(([n, places]) => (n / 10 ** places).toFixed(places));
/** Bare fractions above 1 are refused, so fractions here are given in percent. */
const usable = <T extends { spelling: string; dimension: Dimension }>(all: readonly T[]) =>
  all.filter(({ spelling, dimension }) => dimension !== 'fraction' || spelling === '%');

describe('parse(format(q))', () => {
  test('gives back six-digit values with decimal prefixes exactly, ranges included', () => {
    const unit = fc.constantFrom(...usable(decimalSpellings));
    fc.assert(
      fc.property(plain, plain, plain, unit, (a, b, c, { spelling, dimension }) => {
        const [low, middle, high] = [a, b, c].sort((x, y) => Number(x) - Number(y));
        for (const text of [a, `${low}..${high}`, `${low}..${middle}..${high}`]) {
          const q = quantity(`${text} ${spelling}`, dimension);
          const again = quantity(formatQuantity(q), dimension);
          expect({ ...again, text: q.text }).toEqual(q);
        }
      }),
      { numRuns: 400 },
    );
  });

  test('is within half a unit of the sixth digit for every unit and any digits', () => {
    const unit = fc.constantFrom(...usable(allSpellings));
    const whole = fc.integer({ min: 0, max: 2 ** 31 });
    fc.assert(
      fc.property(whole, whole, unit, (n, m, { spelling, dimension }) => {
        if (dimension === 'temperature') return;
        const q = quantity(`${n}.${m} ${spelling}`, dimension);
        const error = abs(sub(quantity(formatQuantity(q), dimension).expected, q.expected));
        expect(compare(error, mul(q.expected, rational(5, 1_000_000)))).not.toBe(1);
      }),
      { numRuns: 400 },
    );
  });

  test('is of the same dimension without a hint, save where a unit is shared', () => {
    const shared: readonly Dimension[] = ['temperature difference'];
    for (const dimension of Object.keys(dimensions) as Dimension[]) {
      if (shared.includes(dimension)) continue;
      const text = formatQuantity(exactQuantity(dimension, rational(3)));
      expect(quantity(text).dimension).toBe(dimension);
    }
  });
});

describe('short forms of computed numbers', () => {
  test('formatRate: four digits, decimal prefix', () => {
    expect(formatRate(128 / 212e-9)).toBe('603.8 MB/s'); // 128 B every 148 + 64 ns
    expect(formatRate(999_960_000)).toBe('1 GB/s');
    expect(formatRate(12.5)).toBe('12.5 B/s');
    expect(formatRate(0)).toBe('0 B/s');
    expect(formatRate(8e9)).toBe('8 GB/s');
  });

  test('formatTime: four digits', () => {
    expect(formatTime(0.0072)).toBe('7.2 ms');
    expect(formatTime(212e-9)).toBe('212 ns');
    expect(formatTime(1.23456e-6)).toBe('1.235 µs');
    expect(formatTime(3600)).toBe('3600 s');
  });

  test('formatSize: decimal prefix unless whole in a binary one', () => {
    expect(formatSize(4096)).toBe('4 KiB');
    expect(formatSize(16 * 2 ** 20)).toBe('16 MiB');
    expect(formatSize(23_040_000)).toBe('23.04 MB');
    expect(formatSize(5_520_000)).toBe('5.52 MB');
    expect(formatSize(1_520_123.4)).toBe('1.52 MB');
    expect(formatSize(4160)).toBe('4160 B');
    expect(formatSize(0)).toBe('0 B');
  });

  test('formatPercent and formatRatio', () => {
    expect(formatPercent(0.19886)).toBe('19.9 %');
    expect(formatPercent(0.2)).toBe('20 %');
    expect(formatPercent(-0.013)).toBe('-1.3 %');
    expect(formatPercent(0.0004, 2)).toBe('0.04 %');
    expect(formatPercent(0.125, 0)).toBe('12 %');
    expect(formatRatio(1.5368)).toBe('1.54 times');
  });

  test('numbers that are not finite are refused', () => {
    for (const format of [formatRate, formatTime, formatSize, formatPercent, formatRatio]) {
      expect(() => format(Number.NaN)).toThrow(RangeError);
      expect(() => format(Number.POSITIVE_INFINITY)).toThrow(RangeError);
    }
  });
});
