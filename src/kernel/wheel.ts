import { ASKED, type Clock, NOW, SEQUENCE } from './clock.ts';
import { FarEvents } from './far.ts';
import type { Front } from './front.ts';
import { lastTime, refuseEvent, refuseTime } from './limits.ts';
import { NearEvents, widest } from './near.ts';
import type { StateReader, StateWriter } from './state.ts';
import { ARGUMENT, HORIZON, KIND, NEXT, none, ORDER, TIME, TURN } from './store.ts';

// V8 folds constants declared in a file, not imported ones, which cost a load and two checks each.
const nowAt = NOW;
const sequenceAt = SEQUENCE;
const askedAt = ASKED;
const timeAt = TIME;
const orderAt = ORDER;
const kindAt = KIND;
const argumentAt = ARGUMENT;
const nextAt = NEXT;
const noSlot = none;
const horizonAt = HORIZON;
const turnAt = TURN;
const lastTick = lastTime;

/** After how many events beyond the horizon the width of buckets is thought over. */
const mostBeyond = 256;

/**
 * The events of arbitrary delay: those before a horizon in one turn of buckets (`NearEvents`),
 * those beyond in a store for times of every magnitude (`FarEvents`), from which they come over as
 * the horizon moves on. So the order of equal times, that in which they were scheduled, is kept: an
 * event comes over before any other of its time can go to the buckets directly.
 *
 * The buckets' width follows the delays in use: wider when many events fall beyond the horizon,
 * narrower when many share a bucket. Order never hangs on it, nor does a checkpoint hold it.
 */
export class EventWheel extends NearEvents {
  private readonly far = new FarEvents(this);
  /** Slot of the earliest event. */
  private least = noSlot;
  /** Events beyond the horizon since the width was thought over, and the next number then. */
  private beyond = 0;
  private since = 0;
  /** Width that was not too much, and events beyond the horizon since it was kept to. */
  private ceiling = widest;
  private held = 0;
  /** Kind of each timer's events. */
  private readonly timerKinds: number[] = [];
  /** Slot of each timer's pending event. */
  private timerSlots = new Int32Array(4).fill(noSlot);
  private dropped = 0;
  private readonly clock: Clock;
  private readonly front: Front;
  private readonly handlers: readonly unknown[];

  constructor(clock: Clock, front: Front, handlers: readonly unknown[]) {
    super();
    this.clock = clock;
    this.front = front;
    this.handlers = handlers;
    this.startNear(0, 0);
  }

  /** Events waiting. */
  get pending(): number {
    return this.size;
  }

  /** Events cancelled since the start. */
  get cancelled(): number {
    return this.dropped;
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
    return this.timerSlots[timer]! !== noSlot;
  }

  /** Time of a timer's event, ticks; Infinity when none is pending. */
  timeOf(timer: number): number {
    const slot = this.timerSlots[timer]!;
    return slot === noSlot ? Infinity : this.doubles[(slot >> 1) + timeAt]!;
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

  /** Takes the earliest event out; returns its slot, to be read at once. */
  take(): number {
    const { doubles, front, least } = this;
    const { heads } = front;
    if (heads[0]! >= doubles[turnAt]!) {
      this.takeAndTurn();
      return least;
    }
    let next = this.takeFirst(least);
    this.releaseSlot(least);
    if (next === noSlot) {
      next = this.earliestNear();
      if (next === noSlot) next = this.far.least;
    }
    this.least = next;
    if (next === noSlot) heads[0] = Infinity;
    else {
      heads[0] = doubles[(next >> 1) + timeAt]!;
      heads[1] = doubles[(next >> 1) + orderAt]!;
    }
    return least;
  }

  /** The kind of a timer's event, and that the timer has none pending any more. */
  expire(timer: number): number {
    this.timerSlots[timer] = noSlot;
    return this.timerKinds[timer]!;
  }

  /** Takes a timer's pending event out before its time. */
  drop(timer: number): void {
    const slot = this.timerSlots[timer]!;
    this.timerSlots[timer] = noSlot;
    this.dropped++;
    if (this.isNear(slot)) this.dropNear(slot);
    else this.far.drop(slot);
    this.releaseSlot(slot);
    if (slot === this.least) this.find();
  }

  /** Moves every waiting event by `ticks`, after the clock was; order is unchanged. */
  shift(ticks: number): void {
    this.rebuild(this.width, ticks);
    this.find();
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
    const { far } = this;
    this.timerSlots.fill(noSlot);
    this.clearSlots();
    this.startNear(this.clock[nowAt]!, this.width);
    far.reset(this.clock[nowAt]!);
    for (let i = 0; i < size; i++) {
      const slot = this.takeSlot();
      const { words, doubles } = this;
      doubles[(slot >> 1) + timeAt] = from.number();
      doubles[(slot >> 1) + orderAt] = from.number();
      words[slot + kindAt] = from.number();
      words[slot + argumentAt] = from.number();
      this.place(slot);
      const kind = words[slot + kindAt]!;
      if (kind < 0) this.timerSlots[-1 - kind] = slot;
    }
    this.find();
  }

  private insert(kind: number, argument: number): number {
    const { clock, front } = this;
    const time = clock[askedAt]!;
    if (!(time >= clock[nowAt]! && time <= lastTick && Math.floor(time) === time)) {
      refuseTime('time', time, clock[nowAt]!);
    }
    if (argument !== (argument | 0)) refuseEvent(0, argument, 1);
    const slot = this.takeSlot();
    const { words, doubles } = this;
    const order = clock[sequenceAt]!;
    clock[sequenceAt] = order + 1;
    words[slot + kindAt] = kind;
    words[slot + argumentAt] = argument;
    doubles[(slot >> 1) + timeAt] = time;
    doubles[(slot >> 1) + orderAt] = order;
    if (time < doubles[horizonAt]!) {
      if (this.addNear(slot)) this.reconsider();
    } else this.insertBeyond(slot);
    if (time < front.heads[0]!) {
      this.least = slot;
      this.show();
    }
    return slot;
  }

  /** Puts in an event that is beyond the horizon, unless that has to move on first. */
  private insertBeyond(slot: number): void {
    const { clock } = this;
    if (clock[nowAt]! >= this.doubles[turnAt]!) {
      this.advance(clock[nowAt]!);
      this.fetch();
    }
    this.place(slot);
    if (!this.isNear(slot) && ++this.beyond > mostBeyond) this.reconsider();
  }

  private isNear(slot: number): boolean {
    const { doubles } = this;
    return doubles[(slot >> 1) + timeAt]! < doubles[horizonAt]!;
  }

  private place(slot: number): void {
    if (this.isNear(slot)) this.addNear(slot);
    else this.far.add(slot);
  }

  /** As `take`, where the horizon has to move on. */
  private takeAndTurn(): void {
    const { least } = this;
    const time = this.doubles[(least >> 1) + timeAt]!;
    if (this.isNear(least)) this.dropNear(least);
    else this.far.take();
    this.releaseSlot(least);
    this.advance(time);
    this.fetch();
    this.find();
  }

  /** Brings over what is before the horizon now. */
  private fetch(): void {
    const { far } = this;
    while (far.least !== noSlot && this.isNear(far.least)) this.addNear(far.take());
  }

  /**
   * Buckets of twice the width when over an eighth of the events fell beyond the horizon, of half
   * the width when those put in passed more than one other each on the way to their place. Width
   * that was too much is tried again after so many events beyond the horizon that putting all in
   * anew costs little beside them.
   */
  private reconsider(): void {
    const { clock, width } = this;
    const scheduled = clock[sequenceAt]! - this.since;
    this.held += this.beyond;
    if (this.passed > scheduled && width > 0) {
      this.ceiling = width - 1;
      this.held = 0;
      this.rebuild(width - 1, 0);
    } else if (8 * this.beyond > scheduled && width < widest) {
      if (width < this.ceiling || this.held > 16 * this.size + 4096) this.rebuild(width + 1, 0);
    }
    this.passed = 0;
    this.beyond = 0;
    this.since = clock[sequenceAt]!;
  }

  /** Puts all events in anew: buckets of 2^`width` ticks from now on, times later by `ticks`. */
  private rebuild(width: number, ticks: number): void {
    const { far, clock, words, doubles } = this;
    let first = noSlot;
    let last = noSlot;
    const chain = (slot: number) => {
      if (last === noSlot) first = slot;
      else words[last + nextAt] = slot;
      last = slot;
    };
    for (let slot = this.earliestNear(); slot !== noSlot; slot = this.earliestNear()) {
      this.dropNear(slot);
      chain(slot);
    }
    while (far.least !== noSlot) chain(far.take());
    if (last !== noSlot) words[last + nextAt] = noSlot;
    this.startNear(clock[nowAt]!, width);
    far.reset(clock[nowAt]!);
    for (let slot = first; slot !== noSlot; ) {
      const next = words[slot + nextAt]!;
      doubles[(slot >> 1) + timeAt]! += ticks;
      this.place(slot);
      slot = next;
    }
  }

  private find(): void {
    const least = this.earliestNear();
    this.least = least === noSlot ? this.far.least : least;
    this.show();
  }

  private show(): void {
    const { front, least } = this;
    if (least === noSlot) front.heads[0] = Infinity;
    else {
      const { doubles } = this;
      front.heads[0] = doubles[(least >> 1) + timeAt]!;
      front.heads[1] = doubles[(least >> 1) + orderAt]!;
    }
  }

  /** Waiting events in order: time, sequence number, kind (a timer's is negative), argument. */
  private sorted(): number[][] {
    const { words, doubles } = this;
    const events: number[][] = [];
    const visit = (slot: number) => {
      const when = doubles.subarray((slot >> 1) + timeAt, (slot >> 1) + timeAt + 2);
      events.push([...when, words[slot + kindAt]!, words[slot + argumentAt]!]);
    };
    this.eachNear(visit);
    this.far.each(visit);
    return events.sort((a, b) => a[0]! - b[0]! || a[1]! - b[1]!);
  }
}
