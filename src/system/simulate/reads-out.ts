import type { EventState } from '../../links/event-state.ts';

/** Read requests that are outstanding, of all engines that share the limit on them. */
export class ReadsOut {
  limit: number;
  readonly #count: Int32Array;
  readonly #most: Float64Array;
  readonly #waiting: { update(): void }[] = [];

  constructor(limit: number, state: EventState) {
    this.limit = limit;
    this.#count = state.numbers(1);
    this.#most = state.peaks(1);
  }

  /** An engine to tell when one is over. */
  add(engine: { update(): void }): void {
    if (!this.#waiting.includes(engine)) this.#waiting.push(engine);
  }

  get full(): boolean {
    return this.#count[0]! >= this.limit;
  }

  get most(): number {
    return this.#most[0]!;
  }

  begin(): void {
    const count = ++this.#count[0]!;
    if (count > this.#most[0]!) this.#most[0] = count;
  }

  end(): void {
    this.#count[0]!--;
    for (const engine of this.#waiting) engine.update();
  }
}
