/** Read requests that are outstanding: how many, and which of them where answers change their order. */
import type { StateReader, StateWriter } from '../../kernel/index.ts';
import type { EventState, OwnState } from '../../links/event-state.ts';

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

  /** So many are over. */
  end(count = 1): void {
    if (count === 0) return;
    this.#count[0]! -= count;
    for (const engine of this.#waiting) engine.update();
  }
}

/** Requests are numbered from 0 up to this, then from 0 again. */
const numbers = 2 ** 17;

/** A packet's mark holds the number of its request above these bits. */
export const numberShift = 2;

const out = 0;
const arrived = 1;
const ends = 2;

/**
 * The requests of one stream from the earliest that is still out on, in the order in which they were
 * sent: for answers that come in another. A transfer has arrived when it and all before it have.
 */
export class InOrder implements OwnState {
  /** Of each: whether it has arrived, and whether it ends a transfer. */
  #marks: number[] = [];
  #first = 0;
  /** Transfers that the last call of `arrive` completed. */
  transfers = 0;

  /**
   * A request is sent.
   * @returns its number
   * @throws RangeError when the earliest stays out while 2^17 others come back
   */
  send(endsTransfer: boolean): number {
    const count = this.#marks.push(out | (endsTransfer ? ends : 0)) - 1;
    if (count >= numbers) throw new RangeError('one read takes as long as 2^17 others');
    return (this.#first + count) % numbers;
  }

  /**
   * The last answer to a request has arrived.
   * @returns requests that nothing sent before them is out of any more
   */
  arrive(number: number): number {
    const marks = this.#marks;
    marks[(number - this.#first + numbers) % numbers]! |= arrived;
    let done = 0;
    this.transfers = 0;
    while (done < marks.length && (marks[done]! & arrived) !== 0) {
      if ((marks[done]! & ends) !== 0) this.transfers++;
      done++;
    }
    if (done > 0) marks.splice(0, done);
    this.#first = (this.#first + done) % numbers;
    return done;
  }

  shift(): void {}

  save(to: StateWriter): void {
    to.numbers([this.#first, this.#marks.length]);
    to.numbers(this.#marks);
  }

  load(from: StateReader): void {
    this.#first = from.number();
    this.#marks = Array.from({ length: from.number() }, () => from.number());
  }

  relative(to: StateWriter): void {
    to.numbers([this.#first, this.#marks.length]);
    to.numbers(this.#marks);
  }
}
