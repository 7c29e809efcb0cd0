/**
 * Which source a transmitter serves. Weighted: each stream has a tag, the part of its share that it has
 * used up; the ready source whose stream has the lowest goes first, and a stream that was away comes
 * back at the present tag (start-time fair queueing; Goyal, Vin and Cheng, 1997). Round robin: the next
 * ready one in order.
 */
import type { StateReader, StateWriter } from '../../../kernel/index.ts';
import type { OwnState } from '../../event-state.ts';
import type { Arbitration, PacketKind, Source } from '../../events.ts';

/** Tags are counted from the present one before they get too large to be exact. */
const rebaseAt = 2 ** 51;

export class Choice implements OwnState {
  readonly sources: Source[] = [];
  readonly #tags: Float64Array;
  readonly #streamOf: Int32Array;
  readonly #cost: Float64Array;
  readonly #weighted: boolean;
  #present = 0;
  #turn = 0;

  constructor(kinds: readonly (PacketKind | undefined)[], arbitration: Arbitration) {
    this.#streamOf = Int32Array.from(kinds, (kind) => kind?.stream ?? 0);
    this.#cost = Float64Array.from(kinds, (kind) => kind?.cost ?? 0);
    this.#tags = new Float64Array(this.#streamOf.reduce((most, s) => Math.max(most, s), 0) + 1);
    this.#weighted = arbitration === 'weighted';
  }

  /** Index of the source to serve, or -1. */
  ready(): number {
    const { sources } = this;
    if (sources.length === 1) return sources[0]!.head() < 0 ? -1 : 0;
    return this.#weighted ? this.#lowest() : this.#next();
  }

  #lowest(): number {
    const { sources } = this;
    let best = -1;
    let lowest = 0;
    for (let i = 0; i < sources.length; i++) {
      const kind = sources[i]!.head();
      if (kind < 0) continue;
      const tag = Math.max(this.#tags[this.#streamOf[kind]!]!, this.#present);
      if (best < 0 || tag < lowest) {
        best = i;
        lowest = tag;
      }
    }
    return best;
  }

  #next(): number {
    const { sources } = this;
    for (let i = 0; i < sources.length; i++) {
      const at = (this.#turn + i) % sources.length;
      if (sources[at]!.head() >= 0) return at;
    }
    return -1;
  }

  /** A packet of this kind of the source was chosen. */
  served(source: number, kind: number): void {
    if (this.sources.length === 1) return;
    this.#turn = (source + 1) % this.sources.length;
    if (!this.#weighted) return;
    const stream = this.#streamOf[kind]!;
    const tag = Math.max(this.#tags[stream]!, this.#present);
    this.#present = tag;
    this.#tags[stream] = tag + this.#cost[kind]!;
    if (tag > rebaseAt) this.#rebase();
  }

  #rebase(): void {
    for (let i = 0; i < this.#tags.length; i++) {
      this.#tags[i] = Math.max(0, this.#tags[i]! - this.#present);
    }
    this.#present = 0;
  }

  shift(): void {}

  save(to: StateWriter): void {
    to.numbers([this.#present, this.#turn]);
    to.numbers(this.#tags);
  }

  load(from: StateReader): void {
    this.#present = from.number();
    this.#turn = from.number();
    from.numbers(this.#tags);
  }

  relative(to: StateWriter): void {
    if (!this.#weighted) to.number(this.#turn);
    else for (const tag of this.#tags) to.number(Math.max(0, tag - this.#present));
  }
}
