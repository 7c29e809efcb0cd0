import { describe, expect, test } from 'vitest';
import {
  type Dimension,
  dimensions,
  exactQuantity,
  inUnit,
  quantity,
  rational,
} from '../../src/quantity/index.ts';
import { binaryPrefixes, spellings, unitOf, units } from '../../src/quantity/units.ts';

// SI Brochure, 9th edition (2019), table 7, the rows used here. From memory.
const siPrefixes: readonly (readonly [string, string])[] = [
  ['f', '0.000000000000001'],
  ['p', '0.000000000001'],
  ['n', '0.000000001'],
  ['µ', '0.000001'],
  ['m', '0.001'],
  ['c', '0.01'],
  ['k', '1000'],
  ['M', '1000000'],
  ['G', '1000000000'],
  ['T', '1000000000000'],
  ['P', '1000000000000000'],
  ['E', '1000000000000000000'],
];

// IEC 80000-13:2008, clause 4, prefixes for binary multiples. From memory.
const iecPrefixes: readonly (readonly [string, bigint])[] = [
  ['Ki', 1024n],
  ['Mi', 1048576n],
  ['Gi', 1073741824n],
  ['Ti', 1099511627776n],
  ['Pi', 1125899906842624n],
  ['Ei', 1152921504606846976n],
];

describe('prefixes', () => {
  test('every decimal prefix in the table is one of the SI brochure, with its factor', () => {
    const known = new Map(siPrefixes);
    const seen = new Set<string>();
    for (const { prefixes } of units) {
      for (const { symbol, factor } of prefixes.filter((p) => !binaryPrefixes.includes(p))) {
        if (symbol === '') continue;
        const expected = quantity(known.get(symbol) ?? 'none', 'count').expected;
        expect(factor, symbol).toEqual(expected);
        seen.add(symbol);
      }
    }
    expect([...seen].sort()).toEqual([...known.keys()].sort());
  });

  test('binary prefixes are those of IEC 80000-13', () => {
    expect(binaryPrefixes.map((p) => [p.symbol, p.factor.n])).toEqual(iecPrefixes);
    expect(binaryPrefixes.every((p) => p.factor.d === 1n)).toBe(true);
  });

  test('binary prefixes go with bits and bytes only', () => {
    for (const { symbols, prefixes } of units) {
      if (prefixes.some((p) => binaryPrefixes.includes(p))) expect(symbols[0]).toMatch(/^(B|bit)/);
    }
  });

  test.each(['1 us', '1 µs', '1 μs'])('%s is a microsecond (u, U+00B5 and U+03BC)', (text) => {
    expect(quantity(text, 'time').expected).toEqual(rational(1, 1_000_000));
  });
});

describe('worked equalities of the unit table', () => {
  test.each<[string, string, Dimension]>([
    ['1 B', '8 bit', 'size'],
    ['1 B', '8 b', 'size'],
    ['8 Kib', '8192 bit', 'size'],
    ['8 Kib', '1 KiB', 'size'],
    ['1 KiB', '1024 B', 'size'],
    ['1 kB', '1000 B', 'size'],
    ['1 MB', '1e6 B', 'size'],
    ['1 MiB', '1048576 B', 'size'],
    ['1 Mibit/s', '1048576 bit/s', 'data rate'],
    ['1 MB/s', '8 Mbit/s', 'data rate'],
    ['600 MB/s', '4.8 Gbit/s', 'data rate'],
    ['13.12 us', '13120000 ps', 'time'],
    ['71 degC', '344.15 K', 'temperature'],
    ['71 degC', '71 K', 'temperature difference'],
    ['71 degC', '71 Kdiff', 'temperature difference'],
    ['0.15 degC/W', '150 mK/W', 'thermal resistance'],
    ['1 m3/s', '3600 m3/h', 'volume flow'],
    ['1000 CFM', '1699.01079552 m³/h', 'volume flow'],
    ['20 %', '0.2', 'fraction'],
    ['125 Mbaud', '0.125 GBd', 'symbol rate'],
    ['96 kHz', '96 kS/s', 'sample rate'],
  ])('%s = %s as %s', (a, b, dimension) => {
    expect(quantity(a, dimension).expected).toEqual(quantity(b, dimension).expected);
  });

  test('13.12 us is exactly 13120000 ps and 71 degC exactly 344.15 K', () => {
    expect(inUnit(quantity('13.12 us'), 'ps').expected).toEqual(rational(13_120_000));
    expect(quantity('71 degC', 'temperature').expected).toEqual(rational(34415, 100));
  });
});

describe('the table is closed and consistent', () => {
  test('no spelling has two meanings within one dimension', () => {
    for (const [spelling, meanings] of spellings) {
      const found = meanings.map((m) => m.dimension);
      expect(new Set(found).size, spelling).toBe(found.length);
    }
  });

  test('spellings of one dimension that differ only in case differ in bit and byte', () => {
    const byLetters = new Map<string, string[]>();
    for (const [spelling, meanings] of spellings) {
      for (const { dimension } of meanings) {
        const key = `${dimension} ${spelling.toLowerCase()}`;
        byLetters.set(key, [...(byLetters.get(key) ?? []), spelling]);
      }
    }
    for (const [key, alike] of byLetters) {
      if (alike.length > 1) expect(key).toMatch(/^(size|data rate) /);
      expect(new Set(alike.map((s) => s.replace(/b/i, 'x'))).size, key).toBe(1);
    }
  });

  test('each dimension has its base unit in the table with factor 1 and no offset', () => {
    for (const [dimension, { base }] of Object.entries(dimensions)) {
      const meaning = unitOf(base, dimension as Dimension);
      expect(meaning?.factor, dimension).toEqual(rational(1));
      expect(meaning?.offset, dimension).toEqual(rational(0));
    }
  });

  test('both examples of each dimension are read as that dimension', () => {
    for (const [dimension, { example }] of Object.entries(dimensions)) {
      for (const text of example.split(' or ')) {
        expect(quantity(text, dimension as Dimension).dimension).toBe(dimension);
      }
    }
  });

  test('only an absolute temperature in degC has an offset', () => {
    const shifted = [...spellings].flatMap(([spelling, meanings]) =>
      meanings.filter((m) => m.offset.n !== 0n).map((m) => [spelling, m.dimension]),
    );
    expect(shifted).toEqual([
      ['°C', 'temperature'],
      ['degC', 'temperature'],
    ]);
    expect(inUnit(exactQuantity('temperature', rational(0)), 'degC').expected).toEqual(
      rational(-27315, 100),
    );
  });
});
