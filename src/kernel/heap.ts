import { ASKED, type Clock, NOW, SEQUENCE } from './clock.ts';
import type { Front } from './front.ts';
import { lastTime, mostPending, refuseEvent, refuseTime } from './limits.ts';
import type { StateReader, StateWriter } from './state.ts';

const firstPlaces = 64;

/**
 * The events of arbitrary delay: a heap of four children a node over typed arrays, ordered by time,
 * then by sequence number. What an event carries sits in a slot that does not move while the event
 * waits; the slot knows its place in the heap, so an event can be taken out of the middle. Slots are
 * used again; each knows the timer its event belongs to, so that a timer sees when it is over.
 */
export class EventHeap {
  /** Time of each heap place, ticks; place 0 is the earliest. */
  times = new Float64Array(firstPlaces);
  /** Sequence number of each heap place. */
  orders = new Float64Array(firstPlaces);
  /** Slot of each heap place. */
  private slots = new Int32Array(firstPlaces);
  /** Events waiting. */
  size = 0;
  /** Events taken out before their time. */
  dropped = 0;
  /** Kind of the event in each slot. */
  kinds = new Int32Array(firstPlaces);
  /** Argument of the event in each slot. */
  args = new Int32Array(firstPlaces);
  /** Heap place of the event in each slot; -1 while the slot is free. */
  private places = new Int32Array(firstPlaces).fill(-1);
  /** Number of the timer each slot's event belongs to; -1 for none. */
  owners = new Int32Array(firstPlaces).fill(-1);
  /** Free slots, last freed first. */
  private free = new Int32Array(firstPlaces);
  private freeCount = 0;
  /** Slots ever used; those from here on are fresh. */
  private used = 0;
  private readonly clock: Clock;
  private readonly front: Front;
  private readonly handlers: readonly unknown[];

  constructor(clock: Clock, front: Front, handlers: readonly unknown[]) {
    this.clock = clock;
    this.front = front;
    this.handlers = handlers;
  }

  /**
   * Puts an event in for the time asked in the clock, under the next sequence number; returns its
   * slot.
   * @throws RangeError for a time before now or beyond 2^53 − 1, an unknown kind, an argument that
   *   is no signed 32-bit integer.
   */
  add(kind: number, argument: number): number {
    const { clock, handlers } = this;
    const time = clock[ASKED]!;
    if (!(time >= clock[NOW]! && time <= lastTime && Math.floor(time) === time)) {
      refuseTime('time', time, clock[NOW]!);
    }
    if (kind >>> 0 >= handlers.length || kind !== kind >>> 0 || argument !== (argument | 0)) {
      refuseEvent(kind, argument, handlers.length);
    }
    if (this.size === this.times.length) this.grow();
    const slot = this.freeCount > 0 ? this.free[--this.freeCount]! : this.used++;
    this.kinds[slot] = kind;
    this.args[slot] = argument;
    const place = this.size++;
    this.times[place] = time;
    this.orders[place] = clock[SEQUENCE]!++;
    this.slots[place] = slot;
    this.rise(place);
    this.show();
    return slot;
  }

  /** Takes the earliest event out; returns its slot, whose kind and argument stay readable. */
  take(): number {
    const slot = this.slots[0]!;
    this.remove(0);
    return slot;
  }

  /** The time of the waiting event in a slot, ticks. */
  timeOf(slot: number): number {
    return this.times[this.places[slot]!]!;
  }

  /** Takes the waiting event of a slot out of the middle. */
  drop(slot: number): void {
    this.dropped++;
    this.remove(this.places[slot]!);
  }

  /** Moves every waiting event by `ticks`; order is unchanged. */
  shift(ticks: number): void {
    for (let place = 0; place < this.size; place++) this.times[place]! += ticks;
    this.show();
  }

  /** Calls `visit` for every waiting event, in no order. */
  each(visit: (time: number, order: number, kind: number, argument: number) => void): void {
    for (let place = 0; place < this.size; place++) {
      const slot = this.slots[place]!;
      visit(this.times[place]!, this.orders[place]!, this.kinds[slot]!, this.args[slot]!);
    }
  }

  /** Writes events, slots and the list of free slots: all that decides what comes. */
  save(to: StateWriter): void {
    to.number(this.dropped);
    to.number(this.size);
    to.numbers(this.times.subarray(0, this.size));
    to.numbers(this.orders.subarray(0, this.size));
    to.numbers(this.slots.subarray(0, this.size));
    to.number(this.used);
    to.numbers(this.kinds.subarray(0, this.used));
    to.numbers(this.args.subarray(0, this.used));
    to.numbers(this.owners.subarray(0, this.used));
    to.number(this.freeCount);
    to.numbers(this.free.subarray(0, this.freeCount));
  }

  /** Takes the state that `save` wrote. */
  load(from: StateReader): void {
    this.dropped = from.number();
    this.size = from.number();
    while (this.times.length < this.size) this.grow();
    from.numbers(this.times.subarray(0, this.size));
    from.numbers(this.orders.subarray(0, this.size));
    from.numbers(this.slots.subarray(0, this.size));
    this.used = from.number();
    while (this.times.length < this.used) this.grow();
    from.numbers(this.kinds.subarray(0, this.used));
    from.numbers(this.args.subarray(0, this.used));
    this.owners.fill(-1);
    from.numbers(this.owners.subarray(0, this.used));
    this.freeCount = from.number();
    from.numbers(this.free.subarray(0, this.freeCount));
    this.places.fill(-1);
    for (let place = 0; place < this.size; place++) this.places[this.slots[place]!] = place;
    this.show();
  }

  private remove(place: number): void {
    const slot = this.slots[place]!;
    this.places[slot] = -1;
    this.owners[slot] = -1;
    this.free[this.freeCount++] = slot;
    const last = --this.size;
    if (place !== last) {
      const hole = this.sink(place);
      this.times[hole] = this.times[last]!;
      this.orders[hole] = this.orders[last]!;
      this.slots[hole] = this.slots[last]!;
      this.rise(hole);
    }
    this.show();
  }

  private show(): void {
    const { front } = this;
    if (this.size === 0) front.heads[0] = Infinity;
    else {
      front.heads[0] = this.times[0]!;
      front.heads[1] = this.orders[0]!;
    }
    front.changed(0);
  }

  /**
   * Moves the hole at `place` down to a leaf, the earliest child rising at each step. The last
   * event of a heap nearly always belongs near the bottom, so it is not compared on the way.
   */
  private sink(place: number): number {
    const { times, orders, slots, places, size } = this;
    let hole = place;
    for (;;) {
      const first = 4 * hole + 1;
      if (first >= size) return hole;
      const end = Math.min(first + 4, size);
      let best = first;
      let time = times[first]!;
      for (let child = first + 1; child < end; child++) {
        const other = times[child]!;
        if (other < time || (other === time && orders[child]! < orders[best]!)) {
          time = other;
          best = child;
        }
      }
      const slot = slots[best]!;
      times[hole] = time;
      orders[hole] = orders[best]!;
      slots[hole] = slot;
      places[slot] = hole;
      hole = best;
    }
  }

  /** Moves the event at `place` up while it is earlier than its parent. */
  private rise(place: number): void {
    const { times, orders, slots, places } = this;
    const time = times[place]!;
    const order = orders[place]!;
    const slot = slots[place]!;
    let hole = place;
    while (hole > 0) {
      const parent = (hole - 1) >> 2;
      const above = times[parent]!;
      if (above < time || (above === time && orders[parent]! < order)) break;
      const moved = slots[parent]!;
      times[hole] = above;
      orders[hole] = orders[parent]!;
      slots[hole] = moved;
      places[moved] = hole;
      hole = parent;
    }
    times[hole] = time;
    orders[hole] = order;
    slots[hole] = slot;
    places[slot] = hole;
  }

  private grow(): void {
    const places = this.times.length * 2;
    if (places > mostPending) {
      throw new RangeError(`more than ${mostPending} events would wait in the heap at once`);
    }
    const larger = <T extends Float64Array | Int32Array>(to: T, from: T): T => {
      to.set(from);
      return to;
    };
    this.times = larger(new Float64Array(places), this.times);
    this.orders = larger(new Float64Array(places), this.orders);
    this.slots = larger(new Int32Array(places), this.slots);
    this.kinds = larger(new Int32Array(places), this.kinds);
    this.args = larger(new Int32Array(places), this.args);
    this.places = larger(new Int32Array(places).fill(-1), this.places);
    this.owners = larger(new Int32Array(places).fill(-1), this.owners);
    this.free = larger(new Int32Array(places), this.free);
  }
}
