/**
 * A server that data passes besides the links: a stage, an engine's own path, a translation, a
 * neighbour's own rate. It takes a fixed time for each transfer, the same for each packet of it, one
 * packet after another; a few packets may wait before it, so a short delay upstream costs it nothing.
 */
import type { EventState } from '../../links/event-state.ts';

/** What one stream takes of a server. */
export interface GateUse {
  /** System ticks for a transfer, as a fraction. */
  readonly n: bigint;
  readonly d: bigint;
  /** Packets of data in a transfer. */
  readonly packets: number;
}

/** Packets that may wait before the server. */
const room = 4;
const largest = 2n ** 52n;

/** Places in the numbers of each stream. */
const CARRY = 0;
const WHOLE = 1;
const DONE = 2;
const places = 3;

export class Gate {
  readonly account: number;
  readonly cause: string;
  /** When the server is free. */
  readonly #free: Float64Array;
  /** By stream: remainder of the time of a transfer, time of this transfer, packets done of it. */
  readonly #progress: Float64Array;
  readonly #uses: (GateUse & {
    readonly whole: number;
    readonly rest: number;
    readonly by: number;
  })[] = [];

  constructor(account: number, cause: string, streams: number, state: EventState) {
    this.account = account;
    this.cause = cause;
    this.#free = state.pastTimes(1);
    this.#progress = state.wide(places * streams);
  }

  /** @throws RangeError for a time of one transfer beyond 2^52 ticks */
  use(stream: number, use: GateUse): void {
    const by = use.d > largest ? largest : use.d;
    // A denominator beyond 2^52 is rounded to it: an error below one tick in 2^52 transfers.
    const rest = ((use.n % use.d) * by) / use.d;
    const whole = use.n / use.d;
    if (whole > largest)
      throw new RangeError(`${this.cause}: a transfer takes too long to simulate`);
    this.#uses[stream] = { ...use, whole: Number(whole), rest: Number(rest), by: Number(by) };
    this.#begin(stream);
  }

  /** When the server takes the next packet. */
  get free(): number {
    return Math.max(0, this.#free[0]!);
  }

  /** A packet of data of the stream passes. */
  pass(stream: number, now: number): void {
    const at = places * stream;
    const progress = this.#progress;
    const { packets } = this.#uses[stream]!;
    const whole = progress[at + WHOLE]!;
    const k = progress[at + DONE]!;
    const each = Math.floor(whole / packets);
    const rest = whole - each * packets;
    const ticks = each + Math.floor((rest * (k + 1)) / packets) - Math.floor((rest * k) / packets);
    this.#free[0] = Math.max(this.#free[0]!, now - room * each) + ticks;
    if (k + 1 < packets) progress[at + DONE] = k + 1;
    else this.#begin(stream);
  }

  #begin(stream: number): void {
    const at = places * stream;
    const { whole, rest, by } = this.#uses[stream]!;
    const sum = this.#progress[at + CARRY]! + rest;
    const full = sum >= by;
    this.#progress[at + CARRY] = full ? sum - by : sum;
    this.#progress[at + WHOLE] = whole + (full ? 1 : 0);
    this.#progress[at + DONE] = 0;
  }
}
