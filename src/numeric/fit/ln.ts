/** Natural logarithm by operations that every engine rounds alike. */

/** ln 2 in two parts, the first with zeros at its end, so that its multiples are exact. */
const ln2High = 0.6931471803691238;
const ln2Low = 1.9082149292705877e-10;

/**
 * ln x to about 1 part in 10^15: x = m 2^e with m between √½ and √2, and ln m = 2 artanh((m − 1)/(m +
 * 1)) by its series, DLMF 4.6.4.
 *
 * @throws RangeError unless x is finite and above zero
 */
export function ln(x: number): number {
  if (!(x > 0 && x < Infinity)) throw new RangeError(`ln needs a finite x above zero, got ${x}`);
  let m = x;
  let e = 0;
  while (m > Math.SQRT2) {
    m /= 2;
    e++;
  }
  while (m < Math.SQRT1_2) {
    m *= 2;
    e--;
  }
  const z = (m - 1) / (m + 1);
  const square = z * z;
  let sum = 0;
  // |z| < 0.172: the 13th term is below 10^-19 of the first.
  for (let k = 25; k >= 1; k -= 2) sum = sum * square + 1 / k;
  return e * ln2High + (e * ln2Low + 2 * z * sum);
}
