/**
 * State of a simulated model, all of it in typed arrays that are handed out here. Kept so, the model can
 * be checkpointed, moved in time and compared with itself as it was before without a line of code in the
 * parts that own the state, and storing a time allocates nothing.
 */
import type { Stateful, StateReader, StateWriter } from '../kernel/index.ts';

/** A time that is not set; every real one is at least 0. */
export const never = -1;

/** Stands for `never` where times are written as differences. */
const neverApart = -(2 ** 52);

/** State that is not a plain list of numbers, such as a ring of which only a part is in use. */
export interface OwnState extends Stateful {
  shift(ticks: number): void;
  /** Writes what decides the future, times as differences from `now`. */
  relative(to: StateWriter, now: number): void;
}

export class EventState implements Stateful {
  readonly #future: Float64Array[] = [];
  readonly #past: Float64Array[] = [];
  readonly #marks: Float64Array[] = [];
  readonly #numbers: (Float64Array | Int32Array)[] = [];
  readonly #counters: Float64Array[] = [];
  readonly #peaks: Float64Array[] = [];
  readonly #own: OwnState[] = [];

  /** Times until which something lasts; past ones no longer matter and are all alike. */
  futureTimes(count: number): Float64Array {
    return kept(this.#future, new Float64Array(count).fill(never));
  }

  /** Times at which something began that still goes on, or `never`. */
  pastTimes(count: number): Float64Array {
    return kept(this.#past, new Float64Array(count).fill(never));
  }

  /** Times up to which something was counted: they decide nothing. */
  marks(count: number): Float64Array {
    return kept(this.#marks, new Float64Array(count));
  }

  /** Whole numbers beyond 32 bits that decide the future. */
  wide(count: number): Float64Array {
    return kept(this.#numbers, new Float64Array(count));
  }

  /** Whole numbers within 32 bits that decide the future. */
  numbers(count: number): Int32Array {
    return kept(this.#numbers, new Int32Array(count));
  }

  /** What is only counted up: multiplied when periods are skipped. */
  counters(count: number): Float64Array {
    return kept(this.#counters, new Float64Array(count));
  }

  /** High-water marks: the largest value so far. */
  peaks(count: number): Float64Array {
    return kept(this.#peaks, new Float64Array(count));
  }

  own<State extends OwnState>(state: State): State {
    this.#own.push(state);
    return state;
  }

  /** Forgets the high-water marks. */
  resetPeaks(): void {
    for (const list of this.#peaks) list.fill(0);
  }

  /** All counters as they stand. */
  counted(): CounterSnapshot {
    return new CounterSnapshot(new Map(this.#counters.map((list) => [list, list.slice()])));
  }

  /** Adds `times` what was counted from `before` to `after`. */
  countAgain(before: CounterSnapshot, after: CounterSnapshot, times: number): void {
    for (const list of this.#counters) {
      const from = before.of(list);
      const to = after.of(list);
      for (let i = 0; i < list.length; i++) list[i]! += times * (to[i]! - from[i]!);
    }
  }

  shift(ticks: number): void {
    for (const lists of [this.#future, this.#past, this.#marks]) {
      for (const list of lists) {
        for (let i = 0; i < list.length; i++) if (list[i] !== never) list[i]! += ticks;
      }
    }
    for (const own of this.#own) own.shift(ticks);
  }

  save(to: StateWriter): void {
    for (const list of this.#lists()) to.numbers(list);
    for (const own of this.#own) own.save(to);
  }

  load(from: StateReader): void {
    for (const list of this.#lists()) from.numbers(list);
    for (const own of this.#own) own.load(from);
  }

  /**
   * All that decides the future, with times as differences from `now`: equal for two moments from which
   * the model goes on alike. What is only counted is not in it.
   */
  relative(to: StateWriter, now: number): void {
    for (const list of this.#future) {
      for (let i = 0; i < list.length; i++) to.number(Math.max(0, list[i]! - now));
    }
    for (const list of this.#past) {
      for (let i = 0; i < list.length; i++) {
        to.number(list[i] === never ? neverApart : list[i]! - now);
      }
    }
    for (const list of this.#numbers) to.numbers(list);
    for (const own of this.#own) own.relative(to, now);
  }

  /** A number that equal relative states share; cheap, to tell most others apart. */
  trace(now: number): number {
    let sum = 0;
    for (const list of this.#future) {
      for (let i = 0; i < list.length; i++) sum = mixed(sum, Math.max(0, list[i]! - now));
    }
    for (const list of this.#numbers) {
      for (let i = 0; i < list.length; i++) sum = mixed(sum, list[i]!);
    }
    return sum;
  }

  #lists(): (Float64Array | Int32Array)[] {
    return [
      ...this.#future,
      ...this.#past,
      ...this.#marks,
      ...this.#numbers,
      ...this.#counters,
      ...this.#peaks,
    ];
  }
}

function kept<List>(lists: List[], list: NoInfer<List> & Float64Array): Float64Array;
function kept<List>(lists: List[], list: NoInfer<List> & Int32Array): Int32Array;
function kept<List>(lists: List[], list: List): List {
  lists.push(list);
  return list;
}

/** One step of an FNV-like hash over 32 bits; the high part of a wide number is folded in. */
function mixed(sum: number, value: number): number {
  const folded = (value | 0) ^ Math.floor(value / 4294967296);
  return Math.imul(sum ^ folded, 16777619) | 0;
}

/** Copies of counters, by the array they are copies of. */
export class CounterSnapshot {
  readonly #copies: ReadonlyMap<Float64Array, Float64Array>;

  constructor(copies: ReadonlyMap<Float64Array, Float64Array>) {
    this.#copies = copies;
  }

  of(live: Float64Array): Float64Array {
    return this.#copies.get(live)!;
  }

  /** What was counted since an earlier snapshot. */
  since(before: CounterSnapshot): CounterSnapshot {
    const copies = new Map<Float64Array, Float64Array>();
    for (const [live, copy] of this.#copies) {
      const from = before.of(live);
      copies.set(
        live,
        copy.map((value, i) => value - from[i]!),
      );
    }
    return new CounterSnapshot(copies);
  }
}
