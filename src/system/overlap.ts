/**
 * A set-up beside a window: credits and answers come back while an engine prepares a transfer, so only
 * part of the set-up adds to the time of the window, and none where others fill the time.
 *
 * Packets i of one engine start at t(i) = max(t(i − 1) + step, t(i − K) + hold), with K that the window
 * lets be out at once. A set-up lies in a step (writes: after the last packet of a transfer was sent),
 * or behind a hold (reads: after its last answer). These are linear equations in max and plus: the time
 * of a transfer is the largest mean of a cycle of that graph (Baccelli, Cohen, Olsder and Quadrat,
 * Synchronization and Linearity, 1992, §2.3 and §3.2.4). A cycle that passes one set-up in s transfers
 * takes hold for every K of its packets and step for those left over.
 */
import type { Fraction } from '../numeric/filling.ts';
import { gcdNumber } from '../numeric/gcd.ts';

/** One transfer of a stream as one window sees it. Times in ticks, whole. */
export interface Overlap {
  /** Packets or requests of a transfer, at least 1. */
  readonly packets: number;
  /** Of these the window lets so many be out at once, at least 1. */
  readonly out: number;
  /** Times for which they are held, all added up. */
  readonly held: bigint;
  /** Time they take one after another where nothing holds them, all added up. */
  readonly steps: bigint;
  readonly setup: bigint;
  /** True where the set-up waits for the answers of a transfer (reads), not for its last packet. */
  readonly answered: boolean;
}

/**
 * Ticks of a transfer, as a fraction, where a set-up makes it longer than window and steps alone do;
 * undefined where it does not. Exact for packets that are alike in hold and step; for others at their
 * means.
 */
export function setupTime(overlap: Overlap): Fraction | undefined {
  const { packets, out, held, steps, setup, answered } = overlap;
  if (setup === 0n) return undefined;
  const [n, k] = [BigInt(packets), BigInt(out)];
  // Times of K packets: out at once, and one after another.
  const slack = held - k * steps;
  if (slack <= 0n) return answered ? drained(overlap) : undefined;
  // In all times below a factor of K · packets is left out of the denominator.
  const whole = k * setup * n;
  const step = answered ? 0 : 1;
  const most = whole - BigInt(step) * slack;
  let best: { excess: bigint; transfers: number } | undefined;
  const first = answered ? Math.ceil(out / packets) : 1;
  const last = first + out / gcdNumber(out, packets) - 1;
  for (let s = first; s <= last && most > 0n; s++) {
    if (best && best.excess * BigInt(s) >= most * BigInt(best.transfers)) break;
    const left = (s * packets - step) % out;
    const excess = whole - BigInt(left + step) * slack;
    if (excess <= 0n) continue;
    if (!best || excess * BigInt(best.transfers) > best.excess * BigInt(s)) {
      best = { excess, transfers: s };
    }
  }
  if (!best) return undefined;
  const transfers = BigInt(best.transfers);
  return { n: transfers * n * held + best.excess, d: transfers * k * n };
}

/**
 * Reads that fill a wire while enough are out: a set-up shows where it outlasts what is still to come.
 */
function drained({ packets, out, held, steps, setup }: Overlap): Fraction | undefined {
  const transfers = BigInt(Math.ceil(out / packets));
  const n = BigInt(packets);
  const excess = n * setup + held - BigInt(out) * steps;
  if (excess <= 0n) return undefined;
  return { n: transfers * n * steps + excess, d: transfers * n };
}
