/** Time stamps of captures: 64-bit counts of an interface's unit, split into seconds and a rest. */
import type { Instant } from './instant.ts';
import { PICOS } from './instant.ts';
import type { CaptureTime } from './types.ts';

/** Largest unit count a second for which the division below stays exact in doubles: 2^37. */
const DIVISOR_MAX = 2 ** 37;

/** Turns the counts of one interface into times. */
export interface CaptureClock {
  /** Units a second of the times given; that of the file unless it is beyond 2^53. */
  readonly perSecond: number;
  /** True when times of the file are finer than those given. */
  readonly rounds: boolean;
  /** Time of a count, given as its upper and lower 32 bits. */
  time(high: number, low: number): CaptureTime;
}

/**
 * The clock of an interface.
 * @param unitsPerSecond what `if_tsresol` says: a power of 10 or of 2.
 * @param offset whole seconds to add, `if_tsoffset`.
 */
export function captureClock(unitsPerSecond: bigint, offset: number): CaptureClock {
  const exact = unitsPerSecond <= BigInt(Number.MAX_SAFE_INTEGER);
  const perSecond = exact ? Number(unitsPerSecond) : PICOS;
  if (exact && perSecond <= DIVISOR_MAX) {
    return {
      perSecond,
      rounds: false,
      time: (high, low) => divided(high, low, perSecond, offset),
    };
  }
  const scale = BigInt(perSecond);
  return {
    perSecond,
    rounds: !exact,
    time(high, low) {
      const count = (BigInt(high) << 32n) | BigInt(low);
      const units = exact ? count : (count * scale) / unitsPerSecond;
      const seconds = Number(units / scale) + offset;
      return { seconds, rest: Number(units % scale), perSecond };
    },
  };
}

/** Long division by 16 bits at a time: every step stays below 2^53. */
function divided(high: number, low: number, perSecond: number, offset: number): CaptureTime {
  let seconds = 0;
  let rest = 0;
  for (const half of [high, low]) {
    for (const limb of [half >>> 16, half & 0xffff]) {
      const value = rest * 65_536 + limb;
      const quotient = Math.floor(value / perSecond);
      rest = value - quotient * perSecond;
      seconds = seconds * 65_536 + quotient;
    }
  }
  return { seconds: seconds + offset, rest, perSecond };
}

/** The instant at or before a time; `rounded` where its unit is no whole number of picoseconds. */
export function captureInstant({ seconds, rest, perSecond }: CaptureTime): {
  instant: Instant;
  rounded: boolean;
} {
  const picos = PICOS / perSecond;
  if (Number.isInteger(picos)) return { instant: { seconds, picos: rest * picos }, rounded: false };
  const scaled = BigInt(rest) * BigInt(PICOS);
  const unit = BigInt(perSecond);
  const whole = scaled / unit;
  return { instant: { seconds, picos: Number(whole) }, rounded: whole * unit !== scaled };
}
