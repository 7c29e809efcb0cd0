/** Between rationals and decimal text. No locale: a point, no separators, no exponent on output. */
import { abs, nearestQuotient, type Rational, rational } from './rational.ts';

/** Longest text and largest exponent taken; the exact least subnormal double has 751 digits. */
const longestText = 1200;
const largestExponent = 400;

const shape = /^([+-]?)([0-9]+)(?:\.([0-9]+))?(?:[eE]([+-]?[0-9]{1,6}))?$/;

/**
 * The exact value of decimal text: "13.12" = 328/25, "1e-6" = 1/1000000.
 * @throws RangeError when the text is no such number, is longer than 1200 characters, or has an
 *   exponent beyond ±400.
 */
export function fromDecimal(text: string): Rational {
  const match = text.length <= longestText ? shape.exec(text) : null;
  if (match === null) {
    throw new RangeError(`expected decimal text such as 13.12 or 1e-6; got "${text.slice(0, 40)}"`);
  }
  const [, sign, whole = '', fraction = '', exponentText = '0'] = match;
  const exponent = Number(exponentText);
  if (Math.abs(exponent) > largestExponent) {
    throw new RangeError(`expected an exponent within ±${largestExponent}; got ${exponentText}`);
  }
  const digits = BigInt(whole + fraction) * (sign === '-' ? -1n : 1n);
  const power = exponent - fraction.length;
  return power >= 0 ? rational(digits * tenTo(power)) : rational(digits, tenTo(-power));
}

/** Powers of ten at hand: those that a double or a quantity asks for. */
const powersOfTen = Array.from({ length: 64 }, (_, power) => 10n ** BigInt(power));

function tenTo(power: number): bigint {
  return powersOfTen[power] ?? 10n ** BigInt(power);
}

/**
 * Decimal text with at most `significant` digits, rounded half to even, zeros after the last
 * needed digit dropped: 2/3 with 4 gives "0.6667", 123456 with 3 gives "123000".
 * @throws RangeError when `significant` is not an integer from 1 to 1000.
 */
export function toDecimal(a: Rational, significant: number): string {
  if (!Number.isInteger(significant) || significant < 1 || significant > 1000) {
    throw new RangeError(`expected 1 to 1000 significant digits; got ${significant}`);
  }
  if (a.n === 0n) return '0';
  const places = significant - 1 - decimalExponent(abs(a));
  return withPlaces(a, places);
}

/**
 * Decimal text with at most `places` digits after the point, half to even: 1/8 with 2 gives "0.12".
 * Negative places round to tens, hundreds and so on. A value that rounds to nothing is "0".
 */
export function withPlaces(a: Rational, places: number): string {
  const { n, d } = abs(a);
  const scaled =
    places >= 0
      ? nearestQuotient(n * tenTo(places), d)
      : nearestQuotient(n, d * tenTo(-places)) * tenTo(-places);
  if (scaled === 0n) return '0';
  const digits = scaled.toString().padStart(Math.max(places, 0) + 1, '0');
  const point = digits.length - Math.max(places, 0);
  let end = digits.length;
  while (end > point && digits[end - 1] === '0') end -= 1;
  const whole = digits.slice(0, point);
  const text = end === point ? whole : `${whole}.${digits.slice(point, end)}`;
  return a.n < 0n ? `-${text}` : text;
}

/** The e with 10^e ≤ a < 10^(e+1), for a above zero. */
function decimalExponent(a: Rational): number {
  const guess = a.n.toString().length - a.d.toString().length;
  const reaches = guess >= 0 ? a.n >= a.d * tenTo(guess) : a.n * tenTo(-guess) >= a.d;
  return reaches ? guess : guess - 1;
}

/**
 * Digits needed to write a exactly in decimal, or undefined when the expansion never ends or needs
 * more than `limit` significant digits: 0.1875 needs 4, 1/3 has none.
 */
export function exactDigits(a: Rational, limit: number): number | undefined {
  if (a.n === 0n) return 1;
  const text = toDecimal(a, limit);
  const written = fromDecimal(text);
  if (written.n !== a.n || written.d !== a.d) return undefined;
  const digits = text.replace(/[-.]/g, '').replace(/^0+/, '').replace(/0+$/, '');
  return digits.length;
}

/** True when a is a whole number. */
export function isWhole(a: Rational): boolean {
  return a.d === 1n;
}
