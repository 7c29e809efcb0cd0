import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  abs,
  add,
  ceil,
  compare,
  div,
  equal,
  floor,
  max,
  min,
  mul,
  neg,
  one,
  type Rational,
  rational,
  roundHalfEven,
  sub,
  zero,
} from '../../src/quantity/index.ts';
import { nearestQuotient } from '../../src/quantity/rational.ts';

const wide = fc.bigInt({ min: -(1n << 90n), max: 1n << 90n });
const anyRational = fc
  .tuple(fc.oneof(wide, fc.bigInt({ min: -12n, max: 12n })), fc.oneof(wide, fc.constant(6n)))
  .filter(([, d]) => d !== 0n)
  .map(([n, d]) => rational(n, d));

function divisor(a: bigint, b: bigint): bigint {
  return b === 0n ? a : divisor(b, a % b);
}

function isCanonical({ n, d }: Rational): boolean {
  return d > 0n && divisor(n < 0n ? -n : n, d) === 1n;
}

describe('the rationals are an ordered field', () => {
  test('every result is in lowest terms with a positive denominator', () => {
    fc.assert(
      fc.property(anyRational, anyRational, (a, b) => {
        const results = [add(a, b), sub(a, b), mul(a, b), neg(a), abs(a)];
        if (b.n !== 0n) results.push(div(a, b));
        return results.every(isCanonical);
      }),
    );
  });

  test('addition and multiplication commute, associate and distribute', () => {
    fc.assert(
      fc.property(anyRational, anyRational, anyRational, (a, b, c) => {
        expect(add(a, b)).toEqual(add(b, a));
        expect(mul(a, b)).toEqual(mul(b, a));
        expect(add(add(a, b), c)).toEqual(add(a, add(b, c)));
        expect(mul(mul(a, b), c)).toEqual(mul(a, mul(b, c)));
        expect(mul(a, add(b, c))).toEqual(add(mul(a, b), mul(a, c)));
      }),
    );
  });

  test('zero and one are neutral; subtraction and division undo', () => {
    fc.assert(
      fc.property(anyRational, anyRational, (a, b) => {
        expect(add(a, zero)).toEqual(a);
        expect(mul(a, one)).toEqual(a);
        expect(add(a, neg(a))).toEqual(zero);
        expect(add(sub(a, b), b)).toEqual(a);
        if (b.n !== 0n) expect(mul(div(a, b), b)).toEqual(a);
      }),
    );
  });

  test('order is total, agrees with the difference, and is kept by addition', () => {
    fc.assert(
      fc.property(anyRational, anyRational, anyRational, (a, b, c) => {
        expect(compare(a, b)).toBe(-compare(b, a) || 0);
        expect(Math.sign(Number(sub(a, b).n))).toBe(compare(a, b));
        expect(compare(add(a, c), add(b, c))).toBe(compare(a, b));
        expect(equal(a, b)).toBe(compare(a, b) === 0);
        expect(add(min(a, b), max(a, b))).toEqual(add(a, b));
        expect(compare(min(a, b), max(a, b))).not.toBe(1);
      }),
    );
  });
});

describe('rounding to integers', () => {
  test('floor and ceil enclose within one, on both sides of zero', () => {
    fc.assert(
      fc.property(anyRational, (a) => {
        const low = rational(floor(a));
        const high = rational(ceil(a));
        expect(compare(low, a)).not.toBe(1);
        expect(compare(a, add(low, one))).toBe(-1);
        expect(compare(a, high)).not.toBe(1);
        expect(compare(sub(high, one), a)).toBe(-1);
      }),
    );
  });

  test.each([
    [-5, 2, -3n, -2n, -2n],
    [-3, 2, -2n, -1n, -2n],
    [-1, 2, -1n, 0n, 0n],
    [1, 2, 0n, 1n, 0n],
    [3, 2, 1n, 2n, 2n],
    [5, 2, 2n, 3n, 2n],
    [7, 3, 2n, 3n, 2n],
    [8, 3, 2n, 3n, 3n],
    [4, 1, 4n, 4n, 4n],
  ])('%i/%i: floor, ceil and half-even rounding', (n, d, low, high, nearest) => {
    const a = rational(n, d);
    expect([floor(a), ceil(a), roundHalfEven(a)]).toEqual([low, high, nearest]);
  });
});

describe('what cannot be a rational is refused', () => {
  test.each([
    [() => rational(0.5), 'expected an integer within 2^53 as numerator; got 0.5'],
    [() => rational(1, 2 ** 53), 'as denominator; got 9007199254740992'],
    [() => rational(Number.NaN), 'got NaN'],
    [() => rational(1, 0), 'expected a denominator other than 0'],
    [() => div(one, zero), 'expected a divisor other than 0'],
  ])('case %#', (make, message) => {
    expect(make).toThrow(RangeError);
    expect(make).toThrow(message);
  });

  test('rounding a quotient needs no lowest terms', () => {
    const part = fc.bigInt({ min: 1n, max: 1n << 90n });
    fc.assert(
      fc.property(part, part, part, (n, d, times) => {
        const exact = roundHalfEven(rational(n, d));
        expect(nearestQuotient(n * times, d * times)).toBe(exact);
        expect(roundHalfEven(rational(-n, d))).toBe(-exact);
      }),
    );
    expect([1n, 3n, 5n].map((n) => nearestQuotient(3n * n, 6n))).toEqual([0n, 2n, 2n]);
  });

  test('a negative denominator moves its sign to the numerator', () => {
    expect(rational(6, -4)).toEqual({ n: -3n, d: 2n });
    expect(rational(0, -4)).toEqual(zero);
  });
});
