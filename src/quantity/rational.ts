/**
 * Exact rational arithmetic on BigInt. Every `Rational` has a positive denominator and is in lowest
 * terms, so two equal values are the same pair of integers.
 */
export interface Rational {
  readonly n: bigint;
  readonly d: bigint;
}

/** 0/1, the only form of zero. */
export const zero: Rational = { n: 0n, d: 1n };
/** 1/1. */
export const one: Rational = { n: 1n, d: 1n };

/**
 * The fraction n/d, for example `rational(1312, 100)` = 328/25.
 * @throws RangeError when a part is not an integer (numbers: within 2^53) or d is zero.
 */
export function rational(n: bigint | number, d: bigint | number = 1n): Rational {
  const numerator = integer(n, 'numerator');
  const denominator = integer(d, 'denominator');
  if (denominator === 0n) throw new RangeError('expected a denominator other than 0; got 0');
  return reduced(numerator, denominator);
}

function integer(value: bigint | number, name: string): bigint {
  if (typeof value === 'bigint') return value;
  if (!Number.isSafeInteger(value)) {
    throw new RangeError(`expected an integer within 2^53 as ${name}; got ${value}`);
  }
  return BigInt(value);
}

function reduced(n: bigint, d: bigint): Rational {
  if (d === 1n) return { n, d };
  const divisor = greatestCommonDivisor(n < 0n ? -n : n, d < 0n ? -d : d);
  const signed = d < 0n ? -divisor : divisor;
  return signed === 1n ? { n, d } : { n: n / signed, d: d / signed };
}

const safe = BigInt(Number.MAX_SAFE_INTEGER);

/**
 * Euclid's algorithm on non-negative integers, not both zero. Most numerators and denominators fit a
 * double, where a step is many times faster.
 */
function greatestCommonDivisor(a: bigint, b: bigint): bigint {
  let [larger, smaller] = [a, b];
  while (smaller !== 0n) {
    if (larger <= safe && smaller <= safe)
      return BigInt(ofNumbers(Number(larger), Number(smaller)));
    [larger, smaller] = [smaller, larger % smaller];
  }
  return larger;
}

function ofNumbers(a: number, b: number): number {
  let larger = a;
  let smaller = b;
  while (smaller !== 0) {
    const rest = larger % smaller;
    larger = smaller;
    smaller = rest;
  }
  return larger;
}

/** a + b, exactly. */
export function add(a: Rational, b: Rational): Rational {
  return reduced(a.n * b.d + b.n * a.d, a.d * b.d);
}

/** a − b, exactly. */
export function sub(a: Rational, b: Rational): Rational {
  return reduced(a.n * b.d - b.n * a.d, a.d * b.d);
}

/** a × b, exactly. */
export function mul(a: Rational, b: Rational): Rational {
  return reduced(a.n * b.n, a.d * b.d);
}

/** a / b. @throws RangeError when b is zero. */
export function div(a: Rational, b: Rational): Rational {
  if (b.n === 0n) throw new RangeError('expected a divisor other than 0; got 0');
  return reduced(a.n * b.d, a.d * b.n);
}

/** −a. */
export function neg(a: Rational): Rational {
  return { n: -a.n, d: a.d };
}

/** |a|. */
export function abs(a: Rational): Rational {
  return a.n < 0n ? neg(a) : a;
}

/** −1 when a < b, 0 when equal, 1 when a > b. */
export function compare(a: Rational, b: Rational): -1 | 0 | 1 {
  const difference = a.n * b.d - b.n * a.d;
  if (difference === 0n) return 0;
  return difference < 0n ? -1 : 1;
}

/** True when a and b are the same number; both are in lowest terms, so the same integers. */
export function equal(a: Rational, b: Rational): boolean {
  return a.n === b.n && a.d === b.d;
}

/** The lesser of a and b. */
export function min(a: Rational, b: Rational): Rational {
  return compare(a, b) <= 0 ? a : b;
}

/** The greater of a and b. */
export function max(a: Rational, b: Rational): Rational {
  return compare(a, b) >= 0 ? a : b;
}

/** Largest integer not above a: floor(−1/2) = −1. */
export function floor(a: Rational): bigint {
  const quotient = a.n / a.d; // BigInt division drops the fraction, towards zero
  return a.n < 0n && quotient * a.d !== a.n ? quotient - 1n : quotient;
}

/** Smallest integer not below a: ceil(−1/2) = 0. */
export function ceil(a: Rational): bigint {
  return -floor(neg(a));
}

/** Nearest integer, a half going to the even neighbour: 5/2 gives 2, 7/2 gives 4. */
export function roundHalfEven(a: Rational): bigint {
  if (a.n < 0n) return -nearestQuotient(-a.n, a.d);
  return nearestQuotient(a.n, a.d);
}

/**
 * The integer nearest to n / d, a half going to the even neighbour; n not negative, d positive. They
 * need not be in lowest terms, so a caller that only rounds need not reduce.
 */
export function nearestQuotient(n: bigint, d: bigint): bigint {
  const below = n / d;
  const twiceRest = 2n * (n - below * d);
  if (twiceRest < d) return below;
  if (twiceRest > d) return below + 1n;
  return below % 2n === 0n ? below : below + 1n;
}
