import { type Clock, NOW, SEQUENCE } from './clock.ts';
import type { Front } from './front.ts';
import { lastTime, refuseEvent, refuseTime } from './limits.ts';
import type { StateReader, StateWriter } from './state.ts';

// V8 folds constants declared in a file, not imported ones, which cost a load and two checks each.
const nowAt = NOW;
const sequenceAt = SEQUENCE;
const lastTick = lastTime;

const firstPlaces = 16;

/**
 * Events that all happen one constant delay after they are sent: a wire, a pipeline, a fixed
 * latency. Because time never runs back they leave in the order they came, so a ring holds them and
 * no event is ever compared with another of its line. Order over all lines and the wheel is exactly
 * that of scheduling each event. Events in a line cannot be cancelled.
 *
 * Made by `Kernel.delayLine`.
 */
export class DelayLine {
  /** Delay from sending to the event, ticks. */
  readonly delay: number;
  private readonly clock: Clock;
  private readonly front: Front;
  private readonly source: number;
  private readonly handlers: readonly unknown[];
  /** Time and sequence number of each place in turn; fewer arrays are faster than tidier ones. */
  private when = new Float64Array(2 * firstPlaces);
  /** Kind and argument of each place in turn; read by the kernel at what `take` returns. */
  what = new Int32Array(2 * firstPlaces);
  /** Index of the head in both arrays, and the last index: a power of two less one. */
  private head = 0;
  private mask = 2 * firstPlaces - 1;
  private count = 0;

  constructor(delay: number, clock: Clock, front: Front, handlers: readonly unknown[]) {
    this.delay = delay;
    this.clock = clock;
    this.front = front;
    this.source = front.add();
    this.handlers = handlers;
  }

  /** Events on their way. */
  get size(): number {
    return this.count;
  }

  /**
   * Sends an event, dispatched `delay` ticks from now.
   * @throws RangeError for an unknown kind, an argument beyond 32 bits, a time beyond 2^53 − 1.
   */
  send(kind: number, argument = 0): void {
    const { clock } = this;
    const time = clock[nowAt]! + this.delay;
    if (time > lastTick) refuseTime('time', time, 0);
    if (kind >>> 0 >= this.handlers.length || kind !== kind >>> 0 || argument !== (argument | 0)) {
      refuseEvent(kind, argument, this.handlers.length);
    }
    if (2 * this.count > this.mask) this.grow();
    const at = (this.head + 2 * this.count) & this.mask;
    const order = clock[sequenceAt]!;
    clock[sequenceAt] = order + 1;
    this.when[at] = time;
    this.when[at + 1] = order;
    this.what[at] = kind;
    this.what[at + 1] = argument;
    if (this.count++ > 0) return;
    const { front, source } = this;
    front.heads[2 * source] = time;
    front.heads[2 * source + 1] = order;
    front.filled(source);
  }

  /** Takes the earliest event out; `what` holds its kind and argument at the index returned. */
  take(): number {
    const { head } = this;
    this.head = (head + 2) & this.mask;
    this.count--;
    this.show();
    return head;
  }

  /** Moves every event on its way by `ticks`. */
  shift(ticks: number): void {
    for (let i = 0; i < this.count; i++) {
      this.when[(this.head + 2 * i) & this.mask]! += ticks;
    }
    this.show();
  }

  /** Calls `visit` for every event on its way, earliest first. */
  each(visit: (time: number, order: number, kind: number, argument: number) => void): void {
    for (let i = 0; i < this.count; i++) {
      const at = (this.head + 2 * i) & this.mask;
      visit(this.when[at]!, this.when[at + 1]!, this.what[at]!, this.what[at + 1]!);
    }
  }

  /** Writes the events on their way. */
  save(to: StateWriter): void {
    to.number(this.delay);
    to.number(this.count);
    this.each((...event) => {
      for (const part of event) to.number(part);
    });
  }

  /** Takes the state that `save` wrote; the delay must be the same. */
  load(from: StateReader): void {
    const delay = from.number();
    if (delay !== this.delay) {
      throw new RangeError(
        `checkpoint has a delay line of ${delay} ticks, here it is ${this.delay}`,
      );
    }
    this.head = 0;
    this.count = 0;
    const count = from.number();
    while (2 * count > this.mask + 1) this.grow();
    for (let at = 0; at < 2 * count; at += 2) {
      from.numbers(this.when.subarray(at, at + 2));
      from.numbers(this.what.subarray(at, at + 2));
    }
    this.count = count;
    this.show();
  }

  private show(): void {
    const { front } = this;
    const { heads } = front;
    const place = 2 * this.source;
    if (this.count === 0) heads[place] = Infinity;
    else {
      heads[place] = this.when[this.head]!;
      heads[place + 1] = this.when[this.head + 1]!;
    }
    front.changed(this.source);
  }

  private grow(): void {
    const { head } = this;
    const turned = <T extends Float64Array | Int32Array>(to: T, from: T): T => {
      to.set(from.subarray(head));
      to.set(from.subarray(0, head), from.length - head);
      return to;
    };
    this.when = turned(new Float64Array(2 * this.when.length), this.when);
    this.what = turned(new Int32Array(2 * this.what.length), this.what);
    this.mask = this.when.length - 1;
    this.head = 0;
  }
}
