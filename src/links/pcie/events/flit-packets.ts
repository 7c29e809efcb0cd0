/** Packets whose last byte is in a flit that has not arrived: kind, mark, birth and number of the flit. */
import type { StateReader, StateWriter } from '../../../kernel/index.ts';
import type { OwnState } from '../../event-state.ts';

const firstPlaces = 32;

/** A ring that grows to the most that were ever under way; flits count from the first one under way. */
export class FlitPackets implements OwnState {
  #what = new Int32Array(3 * firstPlaces);
  #birth = new Float64Array(firstPlaces);
  #head = 0;
  #count = 0;

  get size(): number {
    return this.#count;
  }

  /** Of the first one; only while there is one. */
  get kind(): number {
    return this.#what[3 * this.#head]!;
  }

  get mark(): number {
    return this.#what[3 * this.#head + 1]!;
  }

  get flit(): number {
    return this.#what[3 * this.#head + 2]!;
  }

  get birth(): number {
    return this.#birth[this.#head]!;
  }

  push(kind: number, mark: number, birth: number, flit: number): void {
    if (this.#count === this.#birth.length) this.#grow();
    const at = (this.#head + this.#count++) & (this.#birth.length - 1);
    this.#what[3 * at] = kind;
    this.#what[3 * at + 1] = mark;
    this.#what[3 * at + 2] = flit;
    this.#birth[at] = birth;
  }

  pop(): void {
    this.#head = (this.#head + 1) & (this.#birth.length - 1);
    this.#count--;
  }

  shift(ticks: number): void {
    this.#each((at) => {
      this.#birth[at]! += ticks;
    });
  }

  save(to: StateWriter): void {
    to.number(this.#count);
    this.#each((at) => {
      to.numbers(this.#what.subarray(3 * at, 3 * at + 3));
      to.number(this.#birth[at]!);
    });
  }

  load(from: StateReader): void {
    this.#head = 0;
    this.#count = 0;
    const count = from.number();
    for (let i = 0; i < count; i++) {
      const [kind, mark, flit] = [from.number(), from.number(), from.number()];
      this.push(kind, mark, from.number(), flit);
    }
  }

  relative(to: StateWriter, now: number): void {
    to.number(this.#count);
    this.#each((at) => {
      to.numbers(this.#what.subarray(3 * at, 3 * at + 2));
      // Numbers of flits have 16 bits and go round: how far apart they are matters.
      to.number((this.#what[3 * at + 2]! - this.flit) & 0xffff);
      to.number(this.#birth[at]! - now);
    });
  }

  #each(visit: (at: number) => void): void {
    for (let i = 0; i < this.#count; i++) visit((this.#head + i) & (this.#birth.length - 1));
  }

  #grow(): void {
    const places = this.#birth.length;
    const what = new Int32Array(6 * places);
    const birth = new Float64Array(2 * places);
    for (let i = 0; i < this.#count; i++) {
      const at = (this.#head + i) & (places - 1);
      what.set(this.#what.subarray(3 * at, 3 * at + 3), 3 * i);
      birth[i] = this.#birth[at]!;
    }
    this.#what = what;
    this.#birth = birth;
    this.#head = 0;
  }
}
