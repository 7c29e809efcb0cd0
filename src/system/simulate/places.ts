import type { StateReader, StateWriter } from '../../kernel/index.ts';
import type { OwnState } from '../../links/event-state.ts';

/** Requests that leave in another order than they came: a place each, free ones used again. */
export class Places implements OwnState {
  #kinds: number[] = [];
  #times: number[] = [];
  #free: number[] = [];

  put(kind: number, time: number): number {
    const place = this.#free.pop() ?? this.#kinds.length;
    this.#kinds[place] = kind;
    this.#times[place] = time;
    return place;
  }

  kindAt(place: number): number {
    return this.#kinds[place]!;
  }

  timeAt(place: number): number {
    return this.#times[place]!;
  }

  drop(place: number): void {
    this.#free.push(place);
  }

  shift(ticks: number): void {
    for (let i = 0; i < this.#times.length; i++) this.#times[i]! += ticks;
  }

  save(to: StateWriter): void {
    to.numbers([this.#kinds.length, this.#free.length]);
    to.numbers(this.#kinds);
    to.numbers(this.#times);
    to.numbers(this.#free);
  }

  load(from: StateReader): void {
    const count = from.number();
    const free = from.number();
    const list = (length: number) => Array.from({ length }, () => from.number());
    this.#kinds = list(count);
    this.#times = list(count);
    this.#free = list(free);
  }

  /** Random delays never recur; the whole is written all the same. */
  relative(to: StateWriter, now: number): void {
    to.numbers(this.#kinds);
    to.numbers(this.#times.map((time) => time - now));
    to.numbers(this.#free);
  }
}
