/**
 * Between rationals and IEEE 754 binary64. The bit pattern is assembled from integers, so the
 * result does not hang on how a platform rounds powers or products.
 */
import { type Rational, roundHalfEven, zero } from './rational.ts';

const largestExactInteger = 9007199254740992n; // 2^53
const hiddenBit = 1n << 52n;
/** Exponent of the least subnormal, 2^−1074 (IEEE 754-2019, table 3.5: emin − p + 1). */
const leastExponent = -1074;

/**
 * The nearest double, ties to even; subnormals included. Beyond the largest double the result is
 * an infinity, as IEEE 754 rounding has it.
 */
export function toNumber(a: Rational): number {
  const negative = a.n < 0n;
  const n = negative ? -a.n : a.n;
  // Both exact as doubles: one IEEE division rounds correctly.
  if (n <= largestExactInteger && a.d <= largestExactInteger) return Number(a.n) / Number(a.d);
  let exponent = Math.max(bitLength(n) - bitLength(a.d) - 53, leastExponent);
  let mantissa = scaled(n, a.d, exponent);
  // The estimate is low by at most one, so at most one bit too many came out.
  if (mantissa > largestExactInteger) {
    exponent += 1;
    mantissa = scaled(n, a.d, exponent);
  }
  if (mantissa === largestExactInteger) {
    exponent += 1;
    mantissa = hiddenBit;
  }
  const size = assemble(mantissa, exponent);
  return negative ? -size : size;
}

/** n / d / 2^exponent to the nearest integer, ties to even. */
function scaled(n: bigint, d: bigint, exponent: number): bigint {
  return exponent >= 0
    ? roundHalfEven({ n, d: d << BigInt(exponent) })
    : roundHalfEven({ n: n << BigInt(-exponent), d });
}

function bitLength(positive: bigint): number {
  const hex = positive.toString(16);
  const lead = hex.charCodeAt(0);
  const digit = lead <= 57 ? lead - 48 : lead - 87;
  return 4 * (hex.length - 1) + (32 - Math.clz32(digit));
}

/** mantissa × 2^exponent with mantissa below 2^53; below 2^52 only at the least exponent. */
function assemble(mantissa: bigint, exponent: number): number {
  const biased = mantissa < hiddenBit ? 0 : exponent - leastExponent + 1;
  if (biased >= 2047) return Number.POSITIVE_INFINITY;
  pattern.setBigUint64(0, (BigInt(biased) << 52n) | (mantissa & (hiddenBit - 1n)));
  return pattern.getFloat64(0);
}

/** Where a pattern of bits becomes a double; written and read at once, so nothing is kept here. */
const pattern = new DataView(new ArrayBuffer(8));

/**
 * The exact value of a double: `fromNumber(0.1)` is 3602879701896397/36028797018963968, not 1/10.
 * @throws RangeError when the number is not finite.
 */
export function fromNumber(value: number): Rational {
  if (!Number.isFinite(value)) throw new RangeError(`expected a finite number; got ${value}`);
  if (value === 0) return zero;
  // Doubling is exact below 2^53, and the first whole multiple is odd: lowest terms.
  let whole = value;
  let doublings = 0;
  while (!Number.isInteger(whole)) {
    whole *= 2;
    doublings += 1;
  }
  return { n: BigInt(whole), d: 1n << BigInt(doublings) };
}
