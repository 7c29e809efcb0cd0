/** What stands between links: the queue of a switch port, and the completer that answers reads. */
import type { Kernel } from '../../kernel/index.ts';
import type { EventState } from '../../links/event-state.ts';
import { endsRequest, endsTransfer, type Source, type Transmitter } from '../../links/events.ts';
import { Places } from './places.ts';
import type { Kind } from './program.ts';
import { numberShift } from './reads-out.ts';
import { Ring } from './ring.ts';

/** Packets from one ingress port, of one credit type and channel, that wait for an egress port. */
export class PortQueue implements Source {
  readonly from: Transmitter;
  readonly to: Transmitter;
  readonly ring: Ring;
  readonly #kernel: Kernel;
  /** 1 when the packet still arriving is in the queue, 2 when it has started onward. */
  readonly #arriving: Int32Array;

  constructor(kernel: Kernel, state: EventState, from: Transmitter, to: Transmitter) {
    this.from = from;
    this.to = to;
    this.#kernel = kernel;
    this.ring = state.own(new Ring());
    this.#arriving = state.numbers(1);
    to.addSource(this);
  }

  /** The packet on the ingress wire goes on before it has arrived whole. */
  cutThrough(): void {
    this.#arriving[0] = 1;
    this.#push();
  }

  /** The packet on the ingress wire has arrived; true when it has started onward already. */
  arrived(): boolean {
    const before = this.#arriving[0];
    this.#arriving[0] = 0;
    if (before === 0) this.#push();
    return before === 2;
  }

  #push(): void {
    const { from } = this;
    this.ring.push(from.kind, from.mark, from.birth);
    this.to.kick();
  }

  head(): number {
    if (this.ring.size === 0) return -1;
    const kind = this.ring.what;
    return this.to.granted(kind) ? kind : -1;
  }

  take(to: Transmitter): void {
    const kind = this.ring.what;
    to.mark = this.ring.mark;
    to.birth = this.ring.time;
    this.ring.pop();
    // The last one in may still be arriving; its buffer is free when it has.
    if (this.#arriving[0] === 1 && this.ring.size === 0) this.#arriving[0] = 2;
    else this.from.release(kind);
  }

  ended(): void {}

  quietUntil(): number {
    return this.#kernel.now;
  }
}

/** How long a request takes between its arrival and its first completion. */
export interface ReadDelay {
  /** System ticks that every request takes. */
  readonly ticks: number;
  /** What each takes besides, drawn anew: they are answered in another order then. */
  readonly draw?: () => number;
}

/** Completions of one request fit below this bit of a ring's mark, above the bit for its end. */
const sentBits = 13;
const sentMask = 2 ** sentBits - 1;

/** Answers the requests of one stream: after a delay, in completions one after another. */
export class Completer implements Source {
  readonly #kernel: Kernel;
  readonly #to: Transmitter;
  readonly #kinds: readonly Kind[];
  /**
   * Requests whose completions are being sent: kind; number of the request above `sentBits`, below it
   * completions sent times two, and one where the request ends a transfer; when it was wanted.
   */
  readonly ready: Ring;
  /** Requests on their way through memory, in order; with drawn delays each has a place instead. */
  readonly #inside: Ring;
  readonly #places: Places | undefined;
  readonly #delay: ReadDelay;
  readonly #readyKind: number;

  constructor(
    kernel: Kernel,
    state: EventState,
    to: Transmitter,
    kinds: readonly Kind[],
    delay: ReadDelay,
  ) {
    this.#kernel = kernel;
    this.#to = to;
    this.#kinds = kinds;
    this.#delay = delay;
    this.ready = state.own(new Ring());
    this.#inside = state.own(new Ring());
    this.#places = delay.draw ? state.own(new Places()) : undefined;
    this.#readyKind = kernel.register((place) => this.#read(place));
    to.addSource(this);
  }

  /** A request has arrived. */
  ask(kind: number, mark: number, birth: number): void {
    const own = ((mark >> numberShift) << sentBits) | ((mark & endsTransfer) !== 0 ? 1 : 0);
    const { draw, ticks } = this.#delay;
    if (draw && this.#places) {
      const after = ticks + draw();
      this.#kernel.scheduleAfter(after, this.#readyKind, this.#places.put(kind, own, birth));
      return;
    }
    this.#inside.push(kind, own, birth);
    this.#kernel.delayLine(ticks).send(this.#readyKind, -1);
  }

  #read(place: number): void {
    if (this.#places) {
      this.#places.moveTo(this.ready, place);
    } else {
      this.ready.push(this.#inside.what, this.#inside.mark, this.#inside.time);
      this.#inside.pop();
    }
    this.#to.kick();
  }

  head(): number {
    if (this.ready.size === 0) return -1;
    const sent = (this.ready.mark & sentMask) >> 1;
    const kind = this.#kinds[this.ready.what]!.answers[sent]!;
    return this.#to.granted(kind) ? kind : -1;
  }

  take(to: Transmitter): void {
    const { ready } = this;
    const { answers } = this.#kinds[ready.what]!;
    const mark = ready.mark + 2;
    const last = (mark & sentMask) >> 1 === answers.length;
    const ends = endsRequest | ((mark & 1) === 1 ? endsTransfer : 0);
    to.mark = last ? ends | ((mark >> sentBits) << numberShift) : 0;
    to.birth = ready.time;
    if (last) ready.pop();
    else ready.mark = mark;
  }

  ended(): void {}

  quietUntil(): number {
    return this.#kernel.now;
  }
}
