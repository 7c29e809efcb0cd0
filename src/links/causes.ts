import type { Kernel } from '../kernel/index.ts';
import { type EventState, never } from './event-state.ts';

/** Charges the idle time of a wire up to now. */
export interface Idler {
  settle(): void;
}

/**
 * What each stream waits for, if for anything: at most one cause at a time, since when, and the account
 * it is charged to. A wire that stands idle charges its time before a cause changes.
 */
export class Causes {
  /** Time that each stream's cause arose, or `never`. */
  readonly arisen: Float64Array;
  /** Account index of each stream's cause; 0 without one. */
  readonly charged: Int32Array;
  readonly #kernel: Kernel;
  readonly #watchers: Idler[][];

  constructor(kernel: Kernel, state: EventState, streams: number) {
    this.#kernel = kernel;
    this.arisen = state.pastTimes(streams);
    this.charged = state.numbers(streams);
    this.#watchers = Array.from({ length: streams }, () => []);
  }

  /** Tells a wire of every change of these streams' causes. */
  watch(streams: readonly number[], idler: Idler): void {
    for (const s of streams) this.#watchers[s]!.push(idler);
  }

  /** The stream waits from now on; a cause of the same account goes on instead. */
  set(stream: number, account: number): void {
    if (this.arisen[stream]! >= 0 && this.charged[stream] === account) return;
    this.#settle(stream);
    this.arisen[stream] = this.#kernel.now;
    this.charged[stream] = account;
  }

  /** The stream waits for nothing. */
  clear(stream: number): void {
    if (this.arisen[stream]! < 0) return;
    this.#settle(stream);
    this.arisen[stream] = never;
    this.charged[stream] = 0;
  }

  #settle(stream: number): void {
    const watchers = this.#watchers[stream]!;
    for (let i = 0; i < watchers.length; i++) watchers[i]!.settle();
  }
}
