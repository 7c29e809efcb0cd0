// Rationals to doubles and decimal text. Outside references: the host's own number parser and
// BigInt conversion, which ECMA-262 (2023) requires to round to nearest, ties to even
// (section 6.1.6.1, "the Number value for x"), and Number.prototype.toPrecision (21.1.3.5).
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  abs,
  add,
  compare,
  div,
  exactDigits,
  fromDecimal,
  fromNumber,
  mul,
  neg,
  type Rational,
  rational,
  sub,
  toDecimal,
  toNumber,
  withPlaces,
} from '../../src/quantity/index.ts';

const least = rational(1n, 1n << 1074n); // 2^-1074, IEEE 754-2019 binary64
const largest = rational(((1n << 53n) - 1n) << 971n); // (2 - 2^-52) 2^1023

/** The double after x away from zero, by its bit pattern. */
function outward(x: number, step: 1n | -1n): number {
  const view = new DataView(new ArrayBuffer(8));
  view.setFloat64(0, x);
  view.setBigUint64(0, view.getBigUint64(0) + step);
  return view.getFloat64(0);
}

function isEvenPattern(x: number): boolean {
  const view = new DataView(new ArrayBuffer(8));
  view.setFloat64(0, x);
  return view.getBigUint64(0) % 2n === 0n;
}

describe('toNumber is the correctly rounded double', () => {
  test.each<[string, Rational, number]>([
    ['2^53 + 1 is a tie and goes down to even', rational((1n << 53n) + 1n), 2 ** 53],
    ['2^53 + 3 is a tie and goes up to even', rational((1n << 53n) + 3n), 2 ** 53 + 4],
    ['a hair above the tie goes up', rational((1n << 54n) + 3n, 2n), 2 ** 53 + 2],
    ['1/3', rational(1, 3), 1 / 3],
    ['1/10', rational(1, 10), 0.1],
    ['344.15', rational(6883, 20), 344.15],
    ['half the least subnormal is a tie to zero', mul(least, rational(1, 2)), 0],
    [
      'a hair above half the least subnormal',
      mul(least, rational((1n << 70n) + 1n, 1n << 71n)),
      Number.MIN_VALUE,
    ],
    ['one and a half least subnormals is a tie to two', mul(least, rational(3, 2)), 2 ** -1073],
    ['the least normal', rational(1n, 1n << 1022n), 2 ** -1022],
    ['the largest double', largest, Number.MAX_VALUE],
    ['a tie beyond the largest double', rational(((1n << 54n) - 1n) << 970n), Infinity],
    ['a hair below that tie', rational((((1n << 54n) - 1n) << 970n) - 1n), Number.MAX_VALUE],
    ['the same below zero', rational(-(((1n << 54n) - 1n) << 970n)), -Infinity],
    ['numerator and denominator beyond any double', rational(10n ** 400n, 3n * 10n ** 400n), 1 / 3],
  ])('%s', (_, value, double) => {
    expect(toNumber(value)).toBe(double);
  });

  test('integers agree with the host, whatever their size', () => {
    fc.assert(
      fc.property(fc.bigInt({ min: -(1n << 1030n), max: 1n << 1030n }), (n) => {
        expect(toNumber(rational(n))).toBe(Number(n));
      }),
    );
  });

  test('decimal text agrees with the host, subnormals included', () => {
    const digits = fc.bigInt({ min: 1n, max: 10n ** 19n });
    fc.assert(
      fc.property(digits, fc.integer({ min: -345, max: 295 }), (n, exponent) => {
        const text = `${n}e${exponent}`;
        expect(toNumber(fromDecimal(text))).toBe(Number(text));
      }),
      { numRuns: 300 },
    );
  });

  test('no neighbour is nearer, and a tie has an even pattern', () => {
    const part = fc.bigInt({ min: 1n, max: 1n << 200n });
    fc.assert(
      fc.property(part, part, (n, d) => {
        const exact = rational(n, d);
        const x = toNumber(exact);
        const error = abs(sub(fromNumber(x), exact));
        for (const step of [1n, -1n] as const) {
          const order = compare(error, abs(sub(fromNumber(outward(x, step)), exact)));
          expect(order === -1 || (order === 0 && isEvenPattern(x))).toBe(true);
        }
        expect(toNumber(neg(exact))).toBe(-x);
      }),
      { numRuns: 300 },
    );
  });

  test('exact ties between neighbouring doubles go to the even one', () => {
    const finite = fc.double({ noNaN: true, min: Number.MIN_VALUE, max: 1e300 });
    fc.assert(
      fc.property(finite, (x) => {
        const next = outward(x, 1n);
        const middle = div(add(fromNumber(x), fromNumber(next)), rational(2));
        expect(toNumber(middle)).toBe(isEvenPattern(x) ? x : next);
      }),
    );
  });

  test('fromNumber is the value of the bit pattern, in lowest terms', () => {
    // IEEE 754-2019 3.4: (-1)^S x 2^(E - 1023 - 52) x (2^52 + T), and without 2^52 where E is 0.
    const ofBits = (x: number) => {
      const view = new DataView(new ArrayBuffer(8));
      view.setFloat64(0, x);
      const bits = view.getBigUint64(0);
      const biased = (bits >> 52n) & 0x7ffn;
      const size = (bits & ((1n << 52n) - 1n)) + (biased === 0n ? 0n : 1n << 52n);
      const power = (biased === 0n ? 1n : biased) - 1075n;
      const signed = bits >> 63n === 1n ? -size : size;
      return power >= 0n ? rational(signed << power) : rational(signed, 1n << -power);
    };
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (x) => {
        expect(fromNumber(x)).toEqual(ofBits(x));
      }),
    );
    expect(fromNumber(Number.MIN_VALUE)).toEqual(least);
    expect(fromNumber(Number.MAX_VALUE)).toEqual(largest);
  });

  test('fromNumber is exact: the way back gives the same double', () => {
    const finite = fc.double({ noNaN: true, noDefaultInfinity: true });
    fc.assert(
      fc.property(finite, (x) => {
        expect(toNumber(fromNumber(x))).toBe(x === 0 ? 0 : x);
      }),
    );
    // 0.1 in binary64: 0x1.999999999999ap-4.
    expect(fromNumber(0.1)).toEqual(rational(0x1999999999999an, 1n << 56n));
    expect(() => fromNumber(Number.NaN)).toThrow(RangeError);
    expect(() => fromNumber(Infinity)).toThrow(RangeError);
  });
});

describe('toDecimal rounds half to even and writes plain decimals', () => {
  test.each<[string, number, string]>([
    ['0.125', 2, '0.12'],
    ['0.375', 2, '0.38'],
    ['-0.125', 2, '-0.12'],
    ['2.5', 1, '2'],
    ['3.5', 1, '4'],
    ['25', 1, '20'],
    ['35', 1, '40'],
    ['999.95', 4, '1000'],
    ['999.949', 4, '999.9'],
    ['603.773584', 4, '603.8'],
    ['13.12', 10, '13.12'],
    ['123456', 3, '123000'],
    ['1e-7', 3, '0.0000001'],
    ['1e21', 3, '1000000000000000000000'],
    ['0', 5, '0'],
    ['0.0995', 2, '0.1'],
  ])('%s to %i digits is %s', (text, significant, written) => {
    expect(toDecimal(fromDecimal(text), significant)).toBe(written);
  });

  test('away from ties it agrees with toPrecision', () => {
    const finite = fc.double({ noNaN: true, min: 1e-12, max: 1e18 });
    fc.assert(
      fc.property(finite, fc.integer({ min: 1, max: 20 }), (x, digits) => {
        const exact = fromNumber(x);
        const ours = fromDecimal(toDecimal(exact, digits));
        const host = fromDecimal(x.toPrecision(digits));
        const apart = compare(abs(sub(ours, exact)), abs(sub(host, exact)));
        expect(apart).toBe(0); // equally near: the same number, or the other side of a tie
      }),
      { numRuns: 300 },
    );
  });

  test('17 digits carry any double there and back', () => {
    const finite = fc.double({ noNaN: true, min: -1e20, max: 1e20 });
    fc.assert(
      fc.property(finite, (x) => {
        expect(Number(toDecimal(fromNumber(x), 17))).toBe(x === 0 ? 0 : x);
      }),
    );
  });

  test('withPlaces counts digits after the point', () => {
    expect(withPlaces(rational(1, 8), 2)).toBe('0.12');
    expect(withPlaces(rational(2, 3), 3)).toBe('0.667');
    expect(withPlaces(rational(15), -1)).toBe('20');
    expect(withPlaces(rational(-1, 1000), 2)).toBe('0');
  });

  test('exactDigits tells a decimal that ends from one that does not', () => {
    expect(exactDigits(rational(3, 16), 12)).toBe(4); // 0.1875
    expect(exactDigits(rational(1, 3), 12)).toBeUndefined();
    expect(exactDigits(rational(1_000_000), 12)).toBe(1);
    expect(exactDigits(rational(1048576), 6)).toBeUndefined();
  });

  test.each([0, -1, 1.5, 1001])('%d significant digits are refused', (significant) => {
    expect(() => toDecimal(rational(1), significant)).toThrow(RangeError);
  });
});

describe('fromDecimal reads exactly', () => {
  test('values', () => {
    expect(fromDecimal('13.12')).toEqual(rational(328, 25));
    expect(fromDecimal('1e-6')).toEqual(rational(1, 1_000_000));
    expect(fromDecimal('-0.50E+2')).toEqual(rational(-50));
  });

  test.each(['', '.5', '5.', '1e', '0x10', '1e999999999', '1e401', '1'.repeat(1201), 'NaN', ' 1'])(
    'case %#: "%s" is refused',
    (text) => {
      expect(() => fromDecimal(text)).toThrow(RangeError);
    },
  );
});
