/**
 * Student's t distribution of whole degrees of freedom. Only additions, multiplications, divisions
 * and square roots of doubles are used, which every engine rounds alike: half-integer powers need
 * no logarithm, and the beta function of half-integers follows from π by its recurrence.
 */

/** Largest parameter of the beta function, and largest of the smaller of the two: no underflow. */
const largestParameter = 1e6;
const largestSmaller = 50;

/** Terms after which the continued fraction has long settled; it takes about √largestParameter. */
const mostTerms = 10_000;

const settled = 2 ** -52;

function checkParameters(x: number, a: number, b: number): void {
  const half = (value: number) => value > 0 && Number.isInteger(2 * value);
  const small = Math.min(a, b) <= largestSmaller && Math.max(a, b) <= largestParameter;
  if (!half(a) || !half(b) || !small) {
    throw new RangeError(
      `need multiples of 1/2, one up to ${largestSmaller}, the other up to ${largestParameter}, ` +
        `got ${a} and ${b}`,
    );
  }
  if (!(x >= 0 && x <= 1)) throw new RangeError(`x must be from 0 to 1, got ${x}`);
}

/** x to a positive multiple of 1/2. */
function power(x: number, exponent: number): number {
  let result = Number.isInteger(exponent) ? 1 : Math.sqrt(x);
  let square = x;
  for (let left = Math.floor(exponent); left > 0; left = Math.floor(left / 2)) {
    if (left % 2 === 1) result *= square;
    square *= square;
  }
  return result;
}

/** B(a, b) of positive multiples of 1/2; B(a + 1, b) = B(a, b) a / (a + b), DLMF 5.12 and 5.5.1. */
function beta(a: number, b: number): number {
  const startA = Number.isInteger(a) ? 1 : 0.5;
  const startB = Number.isInteger(b) ? 1 : 0.5;
  let value = startA + startB === 1 ? Math.PI : startA === startB ? 1 : 2;
  for (let at = startA; at < a; at++) value *= at / (at + startB);
  for (let at = startB; at < b; at++) value *= at / (at + a);
  return value;
}

/** The continued fraction of DLMF 8.17.22, evaluated forwards (W. J. Lentz, 1976). */
function fraction(x: number, a: number, b: number): number {
  const tiny = 2 ** -1000;
  const away = (value: number) => (Math.abs(value) < tiny ? tiny : value);
  let d = 1 / away(1 - ((a + b) * x) / (a + 1));
  let c = 1;
  let value = d;
  for (let m = 1; m <= mostTerms; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away(1 + even * d);
    c = away(1 + even / c);
    value *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away(1 + odd * d);
    c = away(1 + odd / c);
    value *= d * c;
    if (Math.abs(d * c - 1) < settled) return value;
  }
  throw new Error(`the incomplete beta function did not settle at ${x}, ${a}, ${b}`);
}

/**
 * The regularised incomplete beta function I_x(a, b), DLMF 8.17.
 *
 * @param x 0 to 1
 * @param a a positive multiple of 1/2, as b; the smaller up to 50, the larger up to 10^6
 * @throws RangeError for anything else
 */
export function incompleteBeta(x: number, a: number, b: number): number {
  checkParameters(x, a, b);
  if (x === 0 || x === 1) return x;
  // The fraction converges fast on this side of the mean, I_x(a, b) = 1 − I_1−x(b, a) on the other.
  const here = x < (a + 1) / (a + b + 2);
  const front = (power(x, a) * power(1 - x, b)) / beta(a, b);
  return here ? (front * fraction(x, a, b)) / a : 1 - (front * fraction(1 - x, b, a)) / b;
}

/** Chance that |T| of `degrees` degrees of freedom is at least `t`; DLMF 8.17 and A&S 26.7.1. */
export function studentTwoSided(t: number, degrees: number): number {
  const square = t * t;
  return incompleteBeta(degrees / (degrees + square), degrees / 2, 0.5);
}

/**
 * The t that |T| stays below with chance `confidence`: 0.9 and 9 degrees of freedom give 1.833.
 *
 * @param confidence above 0, below 1
 * @param degrees whole, 1 to 2 × 10^6
 * @throws RangeError for anything else
 */
export function studentQuantile(confidence: number, degrees: number): number {
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence must be between 0 and 1, got ${confidence}`);
  }
  const outside = 1 - confidence;
  let low = 0;
  let high = 1;
  while (studentTwoSided(high, degrees) > outside) high *= 2;
  for (;;) {
    const middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) return high;
    if (studentTwoSided(middle, degrees) > outside) low = middle;
    else high = middle;
  }
}
