import type { StateReader, StateWriter } from '../../kernel/index.ts';
import type { OwnState } from '../../links/event-state.ts';

const firstPlaces = 16;

/** Packets or requests in order: a number, a mark and a time each. It grows and never shrinks. */
export class Ring implements OwnState {
  #what = new Int32Array(firstPlaces);
  #mark = new Int32Array(firstPlaces);
  #time = new Float64Array(firstPlaces);
  #head = 0;
  #count = 0;
  /** Most that were in it at once. */
  most = 0;

  get size(): number {
    return this.#count;
  }

  /** Number, mark and time of the first; only while there is one. */
  get what(): number {
    return this.#what[this.#head]!;
  }

  get mark(): number {
    return this.#mark[this.#head]!;
  }

  set mark(mark: number) {
    this.#mark[this.#head] = mark;
  }

  get time(): number {
    return this.#time[this.#head]!;
  }

  push(what: number, mark: number, time: number): void {
    if (this.#count === this.#what.length) this.#grow();
    const at = (this.#head + this.#count) & (this.#what.length - 1);
    this.#what[at] = what;
    this.#mark[at] = mark;
    this.#time[at] = time;
    if (++this.#count > this.most) this.most = this.#count;
  }

  pop(): void {
    this.#head = (this.#head + 1) & (this.#what.length - 1);
    this.#count--;
  }

  shift(ticks: number): void {
    this.#each((at) => {
      this.#time[at]! += ticks;
    });
  }

  save(to: StateWriter): void {
    to.numbers([this.#count, this.most]);
    this.#each((at) => to.numbers([this.#what[at]!, this.#mark[at]!, this.#time[at]!]));
  }

  load(from: StateReader): void {
    this.#head = 0;
    this.#count = 0;
    const count = from.number();
    const most = from.number();
    for (let i = 0; i < count; i++) this.push(from.number(), from.number(), from.number());
    this.most = most;
  }

  relative(to: StateWriter, now: number): void {
    to.number(this.#count);
    this.#each((at) => to.numbers([this.#what[at]!, this.#mark[at]!, this.#time[at]! - now]));
  }

  #each(visit: (at: number) => void): void {
    for (let i = 0; i < this.#count; i++) visit((this.#head + i) & (this.#what.length - 1));
  }

  #grow(): void {
    const places = this.#what.length;
    const turned = <List extends Int32Array | Float64Array>(to: List, from: List): List => {
      to.set(from.subarray(this.#head));
      to.set(from.subarray(0, this.#head), places - this.#head);
      return to;
    };
    this.#what = turned(new Int32Array(2 * places), this.#what);
    this.#mark = turned(new Int32Array(2 * places), this.#mark);
    this.#time = turned(new Float64Array(2 * places), this.#time);
    this.#head = 0;
  }
}
