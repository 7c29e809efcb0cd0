import { ASKED, type Clock, NOW, SEQUENCE } from './clock.ts';
import type { Front } from './front.ts';
import { lastTime, mostPending, refuseEvent, refuseTime } from './limits.ts';
import type { StateReader, StateWriter } from './state.ts';

const firstPlaces = 64;

/**
 * The events of arbitrary delay: a binary heap over typed arrays, ordered by time, then by sequence
 * number.
 *
 * The place of the event that is being dispatched stays open while its handler runs. Most handlers
 * schedule a next event, which then fills the open place: one way down the heap instead of one up
 * and one down.
 */
export class EventHeap {
  /** Time, ticks, and sequence number of each place in turn; place 0 is the earliest. */
  private keys = new Float64Array(2 * firstPlaces);
  /** Kind and argument of each place in turn; the event of timer t has the kind -1 - t. */
  private what = new Int32Array(2 * firstPlaces);
  /** Places in use, an open one included. */
  private size = 0;
  /** Whether place 0 is open: its event was taken and nothing has filled the place. */
  private open = false;
  /** Kind of each timer's events. */
  private timerKinds = new Int32Array(4);
  /** Place of each timer's event; -1 when none is pending. */
  private timerPlaces = new Int32Array(4);
  private timers = 0;
  /** Events taken out before their time. */
  private dropped = 0;
  private readonly clock: Clock;
  private readonly front: Front;
  private readonly handlers: readonly unknown[];

  constructor(clock: Clock, front: Front, handlers: readonly unknown[]) {
    this.clock = clock;
    this.front = front;
    this.handlers = handlers;
  }

  /** Events waiting. */
  get pending(): number {
    return this.open ? this.size - 1 : this.size;
  }

  /** Events cancelled since the start. */
  get cancelled(): number {
    return this.dropped;
  }

  /** Kind of the earliest event; to be read before `take`. */
  get kind(): number {
    const kind = this.what[0]!;
    return kind < 0 ? this.timerKinds[-1 - kind]! : kind;
  }

  /** Argument of the earliest event; to be read before `take`. */
  get argument(): number {
    return this.what[1]!;
  }

  /** Adds a timer for events of a kind; returns its number. */
  addTimer(kind: number): number {
    if (this.timers === this.timerKinds.length) {
      this.timerKinds = larger(this.timerKinds);
      this.timerPlaces = larger(this.timerPlaces);
    }
    this.timerKinds[this.timers] = kind;
    this.timerPlaces[this.timers] = -1;
    return this.timers++;
  }

  /** Whether a timer's event is pending. */
  isPending(timer: number): boolean {
    return this.timerPlaces[timer]! >= 0;
  }

  /** Time of a timer's event, ticks; Infinity when none is pending. */
  timeOf(timer: number): number {
    const place = this.timerPlaces[timer]!;
    return place < 0 ? Infinity : this.keys[2 * place]!;
  }

  /**
   * Puts an event in for the time asked in the clock, under the next sequence number.
   * @throws RangeError for a time before now or beyond 2^53 − 1, an unknown kind, an argument that
   *   is no signed 32-bit integer.
   */
  add(kind: number, argument: number): void {
    if (kind >>> 0 >= this.handlers.length || kind !== kind >>> 0) {
      refuseEvent(kind, argument, this.handlers.length);
    }
    this.insert(kind, argument);
  }

  /** As `add`, for the event of a timer that has none pending. */
  addFor(timer: number, argument: number): void {
    this.insert(-1 - timer, argument);
  }

  /** Takes the earliest event out; its place is open until `close`. */
  take(): void {
    const kind = this.what[0]!;
    if (kind < 0) this.timerPlaces[-1 - kind] = -1;
    this.open = true;
  }

  /** Takes a timer's pending event out before its time. */
  drop(timer: number): void {
    this.close();
    const place = this.timerPlaces[timer]!;
    this.timerPlaces[timer] = -1;
    this.dropped++;
    const last = --this.size;
    if (place < last) this.fill(place);
    this.show();
  }

  /** Fills an open place with the last event. */
  close(): void {
    if (!this.open) return;
    this.open = false;
    const last = --this.size;
    if (last > 0) this.fill(0);
    this.show();
  }

  /** Moves every waiting event by `ticks`; order is unchanged. */
  shift(ticks: number): void {
    for (let place = 0; place < this.size; place++) this.keys[2 * place]! += ticks;
    this.show();
  }

  /** Calls `visit` for every waiting event, in no order. */
  each(visit: (time: number, order: number, kind: number, argument: number) => void): void {
    this.close();
    const { keys, what } = this;
    for (let at = 0; at < 2 * this.size; at += 2) {
      const kind = what[at]!;
      const known = kind < 0 ? this.timerKinds[-1 - kind]! : kind;
      visit(keys[at]!, keys[at + 1]!, known, what[at + 1]!);
    }
  }

  /** Writes the waiting events as they lie, and which are timers'. */
  save(to: StateWriter): void {
    to.numbers([this.dropped, this.size, this.timers]);
    to.numbers(this.timerKinds.subarray(0, this.timers));
    to.numbers(this.keys.subarray(0, 2 * this.size));
    to.numbers(this.what.subarray(0, 2 * this.size));
  }

  /** Takes the state that `save` wrote; there must be as many timers, of the same kinds. */
  load(from: StateReader): void {
    this.dropped = from.number();
    this.size = from.number();
    this.open = false;
    while (this.keys.length < 2 * this.size + 2) this.grow();
    const kinds = Array.from({ length: from.number() }, () => from.number());
    const mine = this.timerKinds.subarray(0, this.timers);
    if (kinds.join() !== mine.join()) {
      throw new RangeError(`checkpoint has timers of kinds ${kinds}, here they are ${mine}`);
    }
    from.numbers(this.keys.subarray(0, 2 * this.size));
    from.numbers(this.what.subarray(0, 2 * this.size));
    this.timerPlaces.fill(-1);
    for (let place = 0; place < this.size; place++) {
      const kind = this.what[2 * place]!;
      if (kind < 0) this.timerPlaces[-1 - kind] = place;
    }
    this.show();
  }

  private insert(kind: number, argument: number): void {
    const { clock } = this;
    const time = clock[ASKED]!;
    if (!(time >= clock[NOW]! && time <= lastTime && Math.floor(time) === time)) {
      refuseTime('time', time, clock[NOW]!);
    }
    if (argument !== (argument | 0)) refuseEvent(0, argument, 1);
    const at = 2 * this.size;
    // One place more than are in use, for an event that goes into an open one.
    if (at + 2 >= this.keys.length) this.grow();
    const order = clock[SEQUENCE]!;
    clock[SEQUENCE] = order + 1;
    this.keys[at] = time;
    this.keys[at + 1] = order;
    this.what[at] = kind;
    this.what[at + 1] = argument;
    if (this.open) {
      this.open = false;
      this.fill(0);
    } else this.rise(this.size++);
    this.show();
  }

  private show(): void {
    const { front, keys } = this;
    if (this.size === 0) front.heads[0] = Infinity;
    else {
      front.heads[0] = keys[0]!;
      front.heads[1] = keys[1]!;
    }
    front.changed(0);
  }

  /**
   * Fills the hole at `place` with the event that lies just behind the places in use. The hole goes
   * down to a leaf first, the earlier child rising at each step: the event nearly always belongs near
   * the bottom, so it is not compared on the way.
   */
  private fill(place: number): void {
    const { keys, what } = this;
    const end = 2 * this.size;
    const time = keys[end]!;
    const order = keys[end + 1]!;
    // A last child without a sibling is compared with this place, which is never earlier.
    keys[end] = Infinity;
    let hole = 2 * place;
    for (;;) {
      const left = 2 * hole + 2;
      if (left >= end) break;
      // Which child is earlier cannot be foreseen, so it is computed and not branched on.
      const mine = keys[left]!;
      const other = keys[left + 2]!;
      const tied = +(other === mine) & +(keys[left + 3]! < keys[left + 1]!);
      const child = left + ((+(other < mine) | tied) << 1);
      this.lift(child, hole);
      hole = child;
    }
    keys[hole] = time;
    keys[hole + 1] = order;
    what[hole] = what[end]!;
    what[hole + 1] = what[end + 1]!;
    this.rise(hole >> 1);
  }

  /** Moves the event at `place` up while it is earlier than its parent. */
  private rise(place: number): void {
    const { keys, what } = this;
    let hole = 2 * place;
    const time = keys[hole]!;
    const order = keys[hole + 1]!;
    const kind = what[hole]!;
    const argument = what[hole + 1]!;
    while (hole > 0) {
      const parent = ((hole - 2) >> 2) << 1;
      const above = keys[parent]!;
      if (above < time || (above === time && keys[parent + 1]! < order)) break;
      this.lift(parent, hole);
      hole = parent;
    }
    keys[hole] = time;
    keys[hole + 1] = order;
    what[hole] = kind;
    what[hole + 1] = argument;
    if (kind < 0) this.timerPlaces[-1 - kind] = hole >> 1;
  }

  /** Moves an event from one index of the arrays to another. */
  private lift(from: number, to: number): void {
    const { keys, what } = this;
    const kind = what[from]!;
    keys[to] = keys[from]!;
    keys[to + 1] = keys[from + 1]!;
    what[to] = kind;
    what[to + 1] = what[from + 1]!;
    if (kind < 0) this.timerPlaces[-1 - kind] = to >> 1;
  }

  private grow(): void {
    if (this.keys.length >= 2 * mostPending) {
      throw new RangeError(`more than ${mostPending - 2} events would wait in the heap at once`);
    }
    this.keys = larger(this.keys);
    this.what = larger(this.what);
  }
}

function larger<T extends Float64Array | Int32Array>(from: T): T {
  const to =
    from instanceof Float64Array
      ? new Float64Array(2 * from.length)
      : new Int32Array(2 * from.length);
  to.set(from);
  return to as T;
}
