import type { StateReader, StateWriter } from '../../kernel/index.ts';
import type { OwnState } from '../../links/event-state.ts';
import type { Ring } from './ring.ts';

/** Requests that leave in another order than they came: a place each, free ones used again. */
export class Places implements OwnState {
  #kinds: number[] = [];
  #marks: number[] = [];
  #times: number[] = [];
  #free: number[] = [];

  put(kind: number, mark: number, time: number): number {
    const place = this.#free.pop() ?? this.#kinds.length;
    this.#kinds[place] = kind;
    this.#marks[place] = mark;
    this.#times[place] = time;
    return place;
  }

  /** Moves what is at a place to the end of a ring. */
  moveTo(ring: Ring, place: number): void {
    ring.push(this.#kinds[place]!, this.#marks[place]!, this.#times[place]!);
    this.#free.push(place);
  }

  shift(ticks: number): void {
    for (let i = 0; i < this.#times.length; i++) this.#times[i]! += ticks;
  }

  save(to: StateWriter): void {
    to.numbers([this.#kinds.length, this.#free.length]);
    to.numbers(this.#kinds);
    to.numbers(this.#marks);
    to.numbers(this.#times);
    to.numbers(this.#free);
  }

  load(from: StateReader): void {
    const count = from.number();
    const free = from.number();
    const list = (length: number) => Array.from({ length }, () => from.number());
    this.#kinds = list(count);
    this.#marks = list(count);
    this.#times = list(count);
    this.#free = list(free);
  }

  /** Random delays never recur; the whole is written all the same. */
  relative(to: StateWriter, now: number): void {
    to.numbers(this.#kinds);
    to.numbers(this.#marks);
    to.numbers(this.#times.map((time) => time - now));
    to.numbers(this.#free);
  }
}
