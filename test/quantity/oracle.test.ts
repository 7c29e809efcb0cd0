// Conversions against two unit libraries, on the sets of strings that each gets right. Left out:
// - unitmath 0.8.8: `bit` with a prefix, `baud`, `µ` and `μ` (unknown to it), `T/s` (tesla);
// - js-quantities 1.8.0: `Kibit` and `Gibit` (no data there), `degC` as an absolute temperature (a
//   difference there), `baud` (unknown to it), `T/s` (tesla).
// Both work in doubles, so values agree to a few units in the 15th digit and not exactly.
import fc from 'fast-check';
import Qty from 'js-quantities';
import unit from 'unitmath';
import { expect, test } from 'vitest';
import {
  type Dimension,
  fromDecimal,
  inUnit,
  quantity,
  toNumber,
} from '../../src/quantity/index.ts';

/** Each of a few operations in doubles costs half a unit in the last place, 1.1e-16. */
const tolerance = 1e-14;

function agree(ours: number, theirs: number, text: string): void {
  expect(Math.abs(ours - theirs), text).toBeLessThanOrEqual(tolerance * Math.abs(theirs));
}

const decimal = fc
  .tuple(fc.integer({ min: 1, max: 99_999 }), fc.integer({ min: 0, max: 4 }))
  .map(([n, places]) => (n / 10 ** places).toFixed(places));

/** Unit symbol without prefix, its base unit, the prefixes, and what the reference calls both. */
type Row = readonly [string, string, readonly string[], Dimension];
const largePrefixes = ['', 'k', 'M', 'G', 'T', 'P', 'E', 'Ki', 'Mi', 'Gi', 'Ti', 'Pi', 'Ei'];

const unitmathSet: readonly Row[] = [
  ['B', 'b', largePrefixes, 'size'],
  ['b', 'b', largePrefixes, 'size'],
  ['B/s', 'b/s', largePrefixes, 'data rate'],
  ['b/s', 'b/s', largePrefixes, 'data rate'],
  ['s', 's', ['f', 'p', 'n', 'u', 'm', ''], 'time'],
  ['m', 'm', ['n', 'u', 'm', 'c', '', 'k'], 'length'],
  ['Hz', 'Hz', ['', 'k', 'M', 'G'], 'frequency'],
  ['V', 'V', ['u', 'm', '', 'k'], 'voltage'],
  ['A', 'A', ['u', 'm', ''], 'current'],
  ['W', 'W', ['m', '', 'k'], 'power'],
  ['K/W', 'K/W', ['m', ''], 'thermal resistance'],
  ['degC', 'K', [''], 'temperature'],
];

const jsQuantitiesSet: readonly Row[] = [
  ['B', 'bit', largePrefixes, 'size'],
  ['b', 'bit', largePrefixes, 'size'],
  ['bit', 'bit', largePrefixes.filter((p) => p !== 'Ki' && p !== 'Gi'), 'size'],
  ['B/s', 'bit/s', largePrefixes, 'data rate'],
  ['b/s', 'bit/s', largePrefixes, 'data rate'],
  ['bit/s', 'bit/s', largePrefixes.filter((p) => p !== 'Ki' && p !== 'Gi'), 'data rate'],
  ['s', 's', ['f', 'p', 'n', 'u', 'µ', 'm', ''], 'time'],
  ['m', 'm', ['n', 'u', 'm', 'c', '', 'k'], 'length'],
  ['Hz', 'Hz', ['', 'k', 'M', 'G'], 'frequency'],
  ['V', 'V', ['u', 'm', '', 'k'], 'voltage'],
  ['A', 'A', ['u', 'm', ''], 'current'],
  ['W', 'W', ['m', '', 'k'], 'power'],
];

function spelt(set: readonly Row[]) {
  const all = set.flatMap(([symbol, base, prefixes, dimension]) =>
    prefixes.map((prefix) => ({ symbol: prefix + symbol, base, dimension })),
  );
  return fc.tuple(decimal, fc.constantFrom(...all));
}

test('unitmath agrees on every prefix of the set it reads right', () => {
  fc.assert(
    fc.property(spelt(unitmathSet), ([number, { symbol, base, dimension }]) => {
      const text = `${number} ${symbol}`;
      const ours = toNumber(inUnit(quantity(text, dimension), base).expected);
      agree(ours, unit(text).to(base).getValue(), text);
    }),
    { numRuns: 600 },
  );
});

test('js-quantities agrees on every prefix of the set it reads right', () => {
  fc.assert(
    fc.property(spelt(jsQuantitiesSet), ([number, { symbol, base, dimension }]) => {
      const text = `${number} ${symbol}`;
      const ours = toNumber(inUnit(quantity(text, dimension), base).expected);
      agree(ours, Qty(text).to(base).scalar, text);
    }),
    { numRuns: 600 },
  );
});

test('absolute degC agrees with js-quantities where that is spelt tempC', () => {
  fc.assert(
    fc.property(decimal, (number) => {
      const ours = toNumber(quantity(`${number} degC`, 'temperature').expected);
      agree(ours, Qty(`${number} tempC`).to('tempK').scalar, number);
    }),
  );
});

test('a difference in degC agrees with the degC of js-quantities', () => {
  fc.assert(
    fc.property(decimal, (number) => {
      const ours = quantity(`${number} degC`, 'temperature difference').expected;
      expect(ours).toEqual(fromDecimal(number));
      agree(toNumber(ours), Qty(`${number} degC`).to('degK').scalar, number);
    }),
  );
});

test('what is left out is indeed refused or misread there', () => {
  for (const text of ['1 Mbit/s', '1 Mbaud', '1 µs']) expect(() => unit(text)).toThrow();
  for (const text of ['1 Mbaud', '1 GBd']) expect(() => Qty(text)).toThrow();
  expect(() => Qty('1 Gibit').to('bit')).toThrow();
  expect(Qty('71 degC').toBase().scalar).not.toBeCloseTo(344.15, 6);
  expect(Qty('1 T').isCompatible(Qty('1 tesla'))).toBe(true);
});
