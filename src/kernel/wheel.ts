import { ASKED, type Clock, NOW, SEQUENCE } from './clock.ts';
import type { Front } from './front.ts';
import { lastTime, mostPending, refuseEvent, refuseTime } from './limits.ts';
import type { StateReader, StateWriter } from './state.ts';

/** Digits of base 64 in the low 30 bits of a time; the high 23 bits have four more. */
const lowDigits = 5;
const levels = 9;
const listCount = 64 * levels;
const firstSlots = 64;
const none = -1;

/**
 * The events of arbitrary delay, in a timing wheel of nine levels (after G. Varghese, T. Lauck,
 * "Hashed and hierarchical timing wheels", SOSP 1987), laid out as a radix heap: an event lies at
 * the level of the highest base-64 digit in which its time differs from a base, in the list of that
 * digit. The base is the time of the last event taken from above level 0, and never later than now.
 *
 * So the earliest event is in the first list of the lowest level in use. When it is taken from
 * above level 0 the base moves to its time, and the rest of its list moves to lower levels. An
 * event moves at most once a digit of its delay, without being compared with others. Events of
 * equal time are always in one list, in the order they came in: ties need no comparison either.
 *
 * Slots and lists are typed arrays; nothing is allocated but to grow them.
 */
export class EventWheel {
  /** Time, ticks, and sequence number of each slot in turn. */
  private keys = new Float64Array(2 * firstSlots);
  /** Kind and argument of each slot in turn; the event of timer t has the kind -1 - t. */
  private what = new Int32Array(2 * firstSlots);
  /** Next and previous slot of each slot's list in turn; free slots are chained by the former. */
  private links = new Int32Array(2 * firstSlots);
  /** The list each slot is in, 64 × level + digit. */
  private lists = new Int32Array(firstSlots);
  /** First and last slot of each list in turn. */
  private readonly ends = new Int32Array(2 * listCount).fill(none);
  /** Which lists are in use, a bit each, 32 to a word; and which of these words are not 0. */
  private readonly listsUsed = new Int32Array(listCount / 32);
  private wordsUsed = 0;
  /** The base, 30 low bits and the others. */
  private baseLow = 0;
  private baseHigh = 0;
  private free = none;
  private used = 0;
  private size = 0;
  /** Slot of the earliest event. */
  private least = none;
  /** Kind of each timer's events. */
  private readonly timerKinds: number[] = [];
  /** Slot of each timer's pending event. */
  private timerSlots = new Int32Array(4).fill(none);
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
    return this.size;
  }

  /** Events cancelled since the start. */
  get cancelled(): number {
    return this.dropped;
  }

  /** Kind of the earliest event; to be read before `take`. */
  get kind(): number {
    const kind = this.what[2 * this.least]!;
    return kind < 0 ? this.timerKinds[-1 - kind]! : kind;
  }

  /** Argument of the earliest event; to be read before `take`. */
  get argument(): number {
    return this.what[2 * this.least + 1]!;
  }

  /** Adds a timer for events of a kind; returns its number. */
  addTimer(kind: number): number {
    const timer = this.timerKinds.push(kind) - 1;
    if (timer === this.timerSlots.length) {
      const slots = new Int32Array(2 * timer).fill(none);
      slots.set(this.timerSlots);
      this.timerSlots = slots;
    }
    return timer;
  }

  /** Whether a timer's event is pending. */
  isPending(timer: number): boolean {
    return this.timerSlots[timer]! !== none;
  }

  /** Time of a timer's event, ticks; Infinity when none is pending. */
  timeOf(timer: number): number {
    const slot = this.timerSlots[timer]!;
    return slot === none ? Infinity : this.keys[2 * slot]!;
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
    this.timerSlots[timer] = this.insert(-1 - timer, argument);
  }

  /** Takes the earliest event out. */
  take(): void {
    const slot = this.least;
    const list = this.lists[slot]!;
    const kind = this.what[2 * slot]!;
    if (kind < 0) this.timerSlots[-1 - kind] = none;
    this.unlink(slot);
    this.release(slot);
    if (list >= 64) this.spread(list, slot);
    this.find();
  }

  /** Takes a timer's pending event out before its time. */
  drop(timer: number): void {
    const slot = this.timerSlots[timer]!;
    this.timerSlots[timer] = none;
    this.dropped++;
    this.unlink(slot);
    this.release(slot);
    if (slot === this.least) this.find();
  }

  /** Moves every waiting event by `ticks`; order is unchanged. */
  shift(ticks: number): void {
    const events = this.sorted();
    this.refill(events.map(([time, ...others]) => [time! + ticks, ...others]));
  }

  /** Calls `visit` for every waiting event, in no order. */
  each(visit: (time: number, order: number, kind: number, argument: number) => void): void {
    for (const [time, order, kind, argument] of this.sorted()) {
      visit(time!, order!, kind! < 0 ? this.timerKinds[-1 - kind!]! : kind!, argument!);
    }
  }

  /** Writes the waiting events in order, and which are timers': how they lie does not matter. */
  save(to: StateWriter): void {
    to.numbers([this.dropped, this.size, this.timerKinds.length]);
    to.numbers(this.timerKinds);
    for (const event of this.sorted()) to.numbers(event);
  }

  /** Takes the state that `save` wrote; there must be as many timers, of the same kinds. */
  load(from: StateReader): void {
    this.dropped = from.number();
    const size = from.number();
    const kinds = Array.from({ length: from.number() }, () => from.number());
    if (kinds.join() !== this.timerKinds.join()) {
      throw new RangeError(`checkpoint has timers of kinds ${kinds}, here: ${this.timerKinds}`);
    }
    this.refill(Array.from({ length: size }, () => Array.from({ length: 4 }, () => from.number())));
  }

  private insert(kind: number, argument: number): number {
    const { clock } = this;
    const time = clock[ASKED]!;
    if (!(time >= clock[NOW]! && time <= lastTime && Math.floor(time) === time)) {
      refuseTime('time', time, clock[NOW]!);
    }
    if (argument !== (argument | 0)) refuseEvent(0, argument, 1);
    const order = clock[SEQUENCE]!;
    clock[SEQUENCE] = order + 1;
    const slot = this.newSlot();
    this.keys[2 * slot] = time;
    this.keys[2 * slot + 1] = order;
    this.what[2 * slot] = kind;
    this.what[2 * slot + 1] = argument;
    this.link(slot);
    if (this.least === none || time < this.keys[2 * this.least]!) {
      this.least = slot;
      this.show();
    }
    return slot;
  }

  private newSlot(): number {
    const slot = this.free;
    this.size++;
    if (slot === none) {
      if (2 * this.used === this.keys.length) this.grow();
      return this.used++;
    }
    this.free = this.links[2 * slot]!;
    return slot;
  }

  private release(slot: number): void {
    this.links[2 * slot] = this.free;
    this.free = slot;
    this.size--;
  }

  /** Appends a slot to the list of its time. */
  private link(slot: number): void {
    const { ends, links } = this;
    const time = this.keys[2 * slot]!;
    const high = Math.floor(time / 1073741824);
    const low = time - high * 1073741824;
    let level: number;
    let digit: number;
    // A sixth of the place of the highest differing bit: 171/1024 is near enough below 2^5.
    if (high === this.baseHigh) {
      level = ((31 - Math.clz32((low ^ this.baseLow) | 1)) * 171) >> 10;
      digit = (low >> (6 * level)) & 63;
    } else {
      level = ((31 - Math.clz32(high ^ this.baseHigh)) * 171) >> 10;
      digit = (high >> (6 * level)) & 63;
      level += lowDigits;
    }
    const list = 64 * level + digit;
    const last = ends[2 * list + 1]!;
    ends[2 * list + 1] = slot;
    links[2 * slot] = none;
    links[2 * slot + 1] = last;
    this.lists[slot] = list;
    if (last !== none) links[2 * last] = slot;
    else {
      ends[2 * list] = slot;
      this.listsUsed[list >> 5]! |= 1 << (list & 31);
      this.wordsUsed |= 1 << (list >> 5);
    }
  }

  /** Takes a slot out of its list. */
  private unlink(slot: number): void {
    const { ends, links } = this;
    const list = this.lists[slot]!;
    const next = links[2 * slot]!;
    const previous = links[2 * slot + 1]!;
    if (next !== none) links[2 * next + 1] = previous;
    else ends[2 * list + 1] = previous;
    if (previous !== none) links[2 * previous] = next;
    else ends[2 * list] = next;
    if (next === none && previous === none) this.leave(list);
  }

  /** Notes that a list is empty. */
  private leave(list: number): void {
    const word = list >> 5;
    const lists = this.listsUsed[word]! & ~(1 << (list & 31));
    this.listsUsed[word] = lists;
    if (lists === 0) this.wordsUsed &= ~(1 << word);
  }

  /** Moves the base to the time of the slot just taken, and the rest of its list down. */
  private spread(list: number, taken: number): void {
    const { ends, links } = this;
    const time = this.keys[2 * taken]!;
    this.baseHigh = Math.floor(time / 1073741824);
    this.baseLow = time - this.baseHigh * 1073741824;
    let slot = ends[2 * list]!;
    if (slot === none) return;
    ends[2 * list] = none;
    ends[2 * list + 1] = none;
    this.leave(list);
    while (slot !== none) {
      const next = links[2 * slot]!;
      this.link(slot);
      slot = next;
    }
  }

  /** Finds the earliest event: in the first list of the lowest level, the first of its time. */
  private find(): void {
    const { keys, links, wordsUsed } = this;
    if (wordsUsed === 0) this.least = none;
    else {
      const word = 31 - Math.clz32(wordsUsed & -wordsUsed);
      const lists = this.listsUsed[word]!;
      const list = 32 * word + 31 - Math.clz32(lists & -lists);
      let best = this.ends[2 * list]!;
      if (list >= 64) {
        let time = keys[2 * best]!;
        for (let slot = links[2 * best]!; slot !== none; slot = links[2 * slot]!) {
          const other = keys[2 * slot]!;
          if (other < time) {
            time = other;
            best = slot;
          }
        }
      }
      this.least = best;
    }
    this.show();
  }

  private show(): void {
    const { front, least } = this;
    if (least === none) front.heads[0] = Infinity;
    else {
      front.heads[0] = this.keys[2 * least]!;
      front.heads[1] = this.keys[2 * least + 1]!;
    }
    front.changed(0);
  }

  /** Waiting events in order: time, sequence number, kind (a timer's is negative), argument. */
  private sorted(): number[][] {
    const events: number[][] = [];
    for (let list = 0; list < listCount; list++) {
      for (let slot = this.ends[2 * list]!; slot !== none; slot = this.links[2 * slot]!) {
        const [time, order] = this.keys.subarray(2 * slot, 2 * slot + 2);
        events.push([time!, order!, this.what[2 * slot]!, this.what[2 * slot + 1]!]);
      }
    }
    return events.sort((a, b) => a[0]! - b[0]! || a[1]! - b[1]!);
  }

  /** Replaces all waiting events by those given in order, none of them before now. */
  private refill(events: readonly (readonly number[])[]): void {
    this.ends.fill(none);
    this.listsUsed.fill(0);
    this.timerSlots.fill(none);
    this.wordsUsed = 0;
    this.free = none;
    this.used = 0;
    this.size = 0;
    const now = this.clock[NOW]!;
    this.baseHigh = Math.floor(now / 1073741824);
    this.baseLow = now - this.baseHigh * 1073741824;
    for (const [time, order, kind, argument] of events) {
      const slot = this.newSlot();
      this.keys.set([time!, order!], 2 * slot);
      this.what.set([kind!, argument!], 2 * slot);
      this.link(slot);
      if (kind! < 0) this.timerSlots[-1 - kind!] = slot;
    }
    this.find();
  }

  private grow(): void {
    const slots = 2 * this.lists.length;
    if (slots > mostPending) {
      throw new RangeError(`more than ${mostPending} events of arbitrary delay would wait at once`);
    }
    const larger = <T extends Float64Array | Int32Array>(to: T, from: T): T => {
      to.set(from);
      return to;
    };
    this.keys = larger(new Float64Array(2 * slots), this.keys);
    this.what = larger(new Int32Array(2 * slots), this.what);
    this.links = larger(new Int32Array(2 * slots), this.links);
    this.lists = larger(new Int32Array(slots), this.lists);
  }
}
