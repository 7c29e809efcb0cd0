/**
 * Points in time to the picosecond, without BigInt on the way of every packet: whole seconds and
 * picoseconds within the second, both whole numbers that a double holds exactly.
 */
import { type Rational, rational } from '../quantity/index.ts';

/** 0 ≤ picos < 10^12; seconds may be below 0. */
export interface Instant {
  readonly seconds: number;
  readonly picos: number;
}

/** Picoseconds of a second. */
export const PICOS = 1_000_000_000_000;
/** Seconds whose picoseconds are still exact in a double. */
const exactSeconds = 9000;

/** Exact seconds as a rational. */
export function instantSeconds({ seconds, picos }: Instant): Rational {
  return rational(BigInt(seconds) * BigInt(PICOS) + BigInt(picos), BigInt(PICOS));
}

/** The instant at or before `time`, and whether it was rounded. */
export function instantOf(time: Rational): { instant: Instant; rounded: boolean } | undefined {
  const scaled = time.n * BigInt(PICOS);
  let whole = scaled / time.d;
  const rounded = whole * time.d !== scaled;
  if (rounded && scaled < 0n) whole -= 1n;
  let seconds = whole / BigInt(PICOS);
  let picos = whole % BigInt(PICOS);
  if (picos < 0n) {
    picos += BigInt(PICOS);
    seconds -= 1n;
  }
  const instant = { seconds: Number(seconds), picos: Number(picos) };
  return Number.isSafeInteger(instant.seconds) ? { instant, rounded } : undefined;
}

/** Picoseconds from `a` to `b`: exact below 2^53, and past it so large that no digit matters. */
export function picosBetween(a: Instant, b: Instant): number {
  return (b.seconds - a.seconds) * PICOS + (b.picos - a.picos);
}

/** floor((b − a) / width) for a whole width of picoseconds, exactly. */
export function windowsBetween(a: Instant, b: Instant, width: number): number {
  if (Math.abs(b.seconds - a.seconds) < exactSeconds) {
    const picos = picosBetween(a, b);
    // The quotient of two whole doubles can round up to a whole number; the product tells.
    const quotient = Math.floor(picos / width);
    return quotient * width > picos ? quotient - 1 : quotient;
  }
  const picos = BigInt(b.seconds - a.seconds) * BigInt(PICOS) + BigInt(b.picos) - BigInt(a.picos);
  const size = BigInt(width);
  const quotient = picos / size;
  return Number(picos < 0n && quotient * size !== picos ? quotient - 1n : quotient);
}

/** Reads unsigned decimal text in units of 10^`power` s, 0 ≥ power ≥ −12; undefined for others. */
export function decimalInstant(
  text: string,
  power: number,
): { instant: Instant; rounded: boolean } | undefined {
  const point = text.indexOf('.');
  const whole = point < 0 ? text.length : point;
  if (whole === 0 || whole + power > 15 || text.length > 40 || point === text.length - 1) return;
  let weight = whole - 1 + power;
  let seconds = 0;
  let picos = 0;
  let rounded = false;
  for (let i = 0; i < text.length; i += 1) {
    if (i === point) continue;
    const digit = text.charCodeAt(i) - 48;
    if (digit < 0 || digit > 9) return undefined;
    if (weight >= 0) seconds = seconds * 10 + digit;
    else if (weight >= -12) picos = picos * 10 + digit;
    else if (digit !== 0) rounded = true;
    weight -= 1;
  }
  const scale = tens[Math.max(weight + 13, 0)] ?? 1;
  return { instant: { seconds, picos: picos * (weight < -1 ? scale : 0) }, rounded };
}

/** 10^0 … 10^12. */
const tens = [1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12];
