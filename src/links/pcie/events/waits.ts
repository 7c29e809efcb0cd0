/** Waits of a wire that are no stream's: for what is to be sent again, and for room to keep it. */
import { accountIndex } from '../../../model/accounts.ts';
import { heldBy } from '../../../model/attribution.ts';
import type { Causes } from '../../causes.ts';
import { type EventState, never } from '../../event-state.ts';

/** Places in the times. */
const LOST = 0;
const FULL = 1;

/**
 * Idle time of a wire that repeats what was hit. From the start of what was hit until it is sent again the
 * wire waits for that: `replay`. While a packet waits and the buffer is full it waits for an Ack: that is
 * `replay` too where an error hit what would have made room, and otherwise what acknowledging costs,
 * `acknowledgements`.
 */
export class LinkWaits {
  readonly #now: { readonly now: number };
  readonly #settle: () => void;
  readonly #since: Float64Array;
  /** Account of the wait for room; whether an error has hit something since the last progress. */
  readonly #n: Int32Array;
  /** Copies for attribution: causes of the streams, then the two of the wire. */
  readonly #arisen: Float64Array;
  readonly #charged: Int32Array;
  readonly #among: Int32Array;

  /**
   * @param streams how many streams the wire carries
   * @param settle charges its idle time up to now
   */
  constructor(
    clock: { readonly now: number },
    state: EventState,
    streams: number,
    settle: () => void,
  ) {
    this.#now = clock;
    this.#settle = settle;
    this.#since = state.pastTimes(2);
    this.#n = state.numbers(2);
    this.#arisen = new Float64Array(streams + 2);
    this.#charged = new Int32Array(streams + 2);
    this.#among = Int32Array.from({ length: streams + 2 }, (_, i) => i);
  }

  /** Something that is hit, or comes too early after it, begins to pass; idle time is settled. */
  lost(): void {
    if (this.#since[LOST] === never) this.#since[LOST] = this.#now.now;
  }

  /** It is sent again; idle time is settled. */
  repeated(): void {
    this.#since[LOST] = never;
  }

  /** An error hits something that would make room. */
  disturb(): void {
    const { replay } = accountIndex;
    this.#n[1] = 1;
    if (this.#since[FULL] === never || this.#n[0] === replay) return;
    this.#settle();
    this.#n[0] = replay;
  }

  /** Something waits and there is no room; idle time is settled. */
  full(): void {
    if (this.#since[FULL] !== never) return;
    this.#since[FULL] = this.#now.now;
    this.#n[0] = this.#n[1] === 1 ? accountIndex.replay : accountIndex.acknowledgements;
  }

  /** There is room again; idle time is settled. */
  progress(): void {
    this.#since[FULL] = never;
    this.#n[1] = 0;
  }

  /** Account of an idle wire. */
  heldBy(causes: Causes, carries: Int32Array): number {
    const streams = carries.length;
    if (this.#since[LOST] === never && this.#since[FULL] === never) {
      return heldBy(causes.arisen, causes.charged, carries);
    }
    for (let i = 0; i < streams; i++) {
      this.#arisen[i] = causes.arisen[carries[i]!]!;
      this.#charged[i] = causes.charged[carries[i]!]!;
    }
    this.#arisen[streams] = this.#since[LOST]!;
    this.#charged[streams] = accountIndex.replay;
    this.#arisen[streams + 1] = this.#since[FULL]!;
    this.#charged[streams + 1] = this.#n[0]!;
    return heldBy(this.#arisen, this.#charged, this.#among);
  }
}
