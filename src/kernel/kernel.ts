import { ASKED, type Clock, NOW, newClock, SEQUENCE } from './clock.ts';
import { DelayLine } from './delayline.ts';
import { Front } from './front.ts';
import { hashState } from './hash.ts';
import { lastTime, mostKinds, refuseEvent, refuseTime } from './limits.ts';
import { firstGenerator, RandomStream } from './random.ts';
import { type Stateful, StateReader, StateWriter } from './state.ts';
import { ARGUMENT, KIND } from './store.ts';
import { Timer } from './timer.ts';
import { EventWheel } from './wheel.ts';

// V8 folds constants declared in a file, not imported ones, which cost a load and two checks each.
const nowAt = NOW;
const sequenceAt = SEQUENCE;
const askedAt = ASKED;
const kindAt = KIND;
const argumentAt = ARGUMENT;
const lastTick = lastTime;

/** What happens at an event; the time is the kernel's `now`. */
export type Handler = (argument: number) => void;

/** Why a run ended: nothing pending, the asked time, a handler's pause, the asked count. */
export type Ended = 'empty' | 'time' | 'paused' | 'count';

type Visit = (time: number, order: number, kind: number, argument: number) => void;

const mostAtOnce = 2 ** 30;

/**
 * A discrete-event kernel. It knows no domain: a model registers handlers and gets a kind number
 * for each, schedules events of those kinds, and the kernel dispatches them by time, then in the
 * order of scheduling. Time is a whole number of ticks from 0 to 2^53 − 1.
 *
 * @example Three ticks of a clock
 * ```ts
 * const kernel = new Kernel({ seed: 1 });
 * const period = kernel.delayLine(10);
 * const tick = kernel.register((left) => {
 *   if (left > 0) period.send(tick, left - 1);
 * });
 * kernel.schedule(0, tick, 2);
 * kernel.run(); // 'empty', with kernel.now === 20
 * ```
 */
export class Kernel {
  /** The seed of all random streams. */
  readonly seed: number;
  private readonly clock: Clock = newClock();
  private readonly front = new Front();
  private readonly handlers: Handler[] = [];
  private readonly wheel = new EventWheel(this.clock, this.front, this.handlers);
  /** Delay lines; the source number of each is its place here plus one. */
  private readonly lines: DelayLine[] = [];
  private readonly nextGenerator: ReturnType<typeof firstGenerator>;
  private readonly streams: RandomStream[] = [];
  private readonly states: Stateful[] = [];
  private ticksBefore = 0n;
  private running = false;
  private pausing = false;

  /** @throws RangeError unless `seed` is a whole number from 0 to 2^53 − 1. */
  constructor(options: { readonly seed: number }) {
    this.seed = options.seed;
    this.nextGenerator = firstGenerator(options.seed);
  }

  /** The present time, ticks since the start or the last `rebase`. */
  get now(): number {
    return this.clock[nowAt]!;
  }

  /** Ticks that `rebase` took off the clock: `origin + now` is the time since the start. */
  get origin(): bigint {
    return this.ticksBefore;
  }

  /** Events dispatched since the start. */
  get dispatched(): number {
    return this.clock[sequenceAt]! - this.pending - this.wheel.cancelled;
  }

  /** Events waiting, in the wheel and in all delay lines. */
  get pending(): number {
    return this.lines.reduce((sum, line) => sum + line.size, this.wheel.pending);
  }

  /** Time of the earliest pending event, ticks; Infinity when there is none. */
  get nextTime(): number {
    return this.front.time;
  }

  /** Registers a handler; returns the number of its kind of event, 0, 1, 2 … in order of calls. */
  register(handler: Handler): number {
    if (this.handlers.length === mostKinds) {
      throw new RangeError(`at most ${mostKinds} kinds of event can be registered`);
    }
    return this.handlers.push(handler) - 1;
  }

  /** The delay line of `delay` ticks, a whole number from 0 on. One is made for each delay. */
  delayLine(delay: number): DelayLine {
    if (!(Number.isSafeInteger(delay) && delay >= 0)) refuseTime('delay', delay, 0);
    const known = this.lines.find((line) => line.delay === delay);
    if (known) return known;
    const line = new DelayLine(delay, this.clock, this.front, this.handlers);
    this.lines.push(line);
    return line;
  }

  /** A new random stream; the n-th of a seed is always the same. */
  stream(): RandomStream {
    const stream = new RandomStream(this.nextGenerator.clone() as typeof this.nextGenerator);
    this.nextGenerator.jump();
    this.streams.push(stream);
    return stream;
  }

  /** Lets a model's state take part in checkpoints, hashes and moves of the clock. */
  attach(state: Stateful): void {
    this.states.push(state);
  }

  /**
   * A timer for events of a kind: the handle by which a pending event can be cancelled or moved.
   * One for each thing that can be cancelled, made when the model is set up.
   */
  timer(kind: number): Timer {
    if (!(kind in this.handlers)) refuseEvent(kind, 0, this.handlers.length);
    return new Timer(kind, this.clock, this.wheel);
  }

  /**
   * Schedules an event at `time`. At the present time it comes after all events already scheduled
   * for it. It cannot be cancelled: `timer` is for those that can.
   * @throws RangeError for a time before now or beyond 2^53 − 1, an unknown kind, an argument that
   *   is no signed 32-bit integer.
   */
  schedule(time: number, kind: number, argument = 0): void {
    this.clock[askedAt] = time;
    this.wheel.add(kind, argument);
  }

  /** Schedules an event `delay` ticks from now; as `schedule` otherwise. */
  scheduleAfter(delay: number, kind: number, argument = 0): void {
    this.clock[askedAt] = this.clock[nowAt]! + delay;
    this.wheel.add(kind, argument);
  }

  /** Dispatches events until none is pending, a handler pauses, or `most` were dispatched. */
  run(most = Infinity): Ended {
    return this.dispatch(lastTick, most);
  }

  /**
   * Dispatches every event up to and including `time`, then stands at `time`. Paused or after
   * `most` events it stands at the last one, and the same call goes on from there.
   */
  runUntil(time: number, most = Infinity): Ended {
    if (!(Number.isSafeInteger(time) && time >= this.now)) refuseTime('time', time, this.now);
    const ended = this.dispatch(time, most);
    if (ended === 'empty' || ended === 'time') this.clock[nowAt] = time;
    return ended;
  }

  /** Dispatches one event; false when none was pending. */
  step(): boolean {
    return this.dispatch(lastTick, 1) !== 'empty';
  }

  /** Ends the run after the present event; called by a handler. */
  pause(): void {
    this.pausing = this.running;
  }

  /** Counts time from now on: the clock becomes 0, `origin` grows, stored times are shifted. */
  rebase(): void {
    const ticks = this.now;
    this.move(-ticks);
    this.ticksBefore += BigInt(ticks);
  }

  /**
   * Lets `ticks` pass in which nothing happens: the clock and every pending event move on together.
   * With whole periods of a recurring state this leaves out what is known already.
   */
  skip(ticks: number): void {
    if (!(Number.isSafeInteger(ticks) && ticks >= 0)) refuseTime('ticks', ticks, 0);
    let latest = this.now;
    this.each((time) => {
      latest = Math.max(latest, time);
    });
    if (latest + ticks > lastTick) refuseTime('time', latest + ticks, 0);
    this.move(ticks);
  }

  /**
   * Pending events in the order they will be dispatched, as (ticks from now, kind, argument): equal
   * for two moments from which the kernel goes on alike, random streams, timers and attached states
   * apart.
   */
  relativeState(): Float64Array {
    const events: number[][] = [];
    this.each((time, order, kind, argument) => events.push([time, order, kind, argument]));
    events.sort((a, b) => a[0]! - b[0]! || a[1]! - b[1]!);
    return Float64Array.from(
      events.flatMap(([time, , kind, argument]) => [time! - this.now, kind!, argument!]),
    );
  }

  /** The whole state as numbers: clock, events, timers, random streams, attached states. */
  checkpoint(): Float64Array {
    if (this.running) throw new Error('a checkpoint is taken between events: pause first');
    const to = new StateWriter();
    to.numbers(this.setUp());
    to.numbers([this.seed, this.now, this.clock[sequenceAt]!]);
    to.numbers([Number(this.ticksBefore >> 53n), Number(BigInt.asUintN(53, this.ticksBefore))]);
    this.wheel.save(to);
    for (const line of this.lines) line.save(to);
    for (const stream of this.streams) stream.save(to);
    for (const state of this.states) state.save(to);
    return to.done();
  }

  /**
   * Returns to a checkpoint of this kernel, or of another set up alike: the same handlers, delay
   * lines, timers, streams and states in the same order.
   * @throws RangeError for a checkpoint of another set-up; the kernel must then not be used
   * further.
   */
  restore(checkpoint: Float64Array): void {
    if (this.running) throw new Error('a checkpoint is restored between events: pause first');
    const from = new StateReader(checkpoint);
    const have = this.setUp();
    const need = have.map(() => from.number());
    const seed = from.number();
    if (seed !== this.seed || need.some((count, i) => count !== have[i])) {
      throw new RangeError(
        `checkpoint has handlers, lines, streams, states ${need} and seed ${seed}; ` +
          `this kernel has ${have} and ${this.seed}`,
      );
    }
    this.clock[nowAt] = from.number();
    this.clock[sequenceAt] = from.number();
    this.ticksBefore = (BigInt(from.number()) << 53n) + BigInt(from.number());
    this.wheel.load(from);
    for (const line of this.lines) line.load(from);
    for (const stream of this.streams) stream.load(from);
    for (const state of this.states) state.load(from);
    from.end();
  }

  /** Fingerprint of the whole state, 16 hexadecimal digits; see `hashState`. */
  hash(): string {
    return hashState(this.checkpoint());
  }

  /** How many there are of all that a checkpoint counts on. */
  private setUp(): number[] {
    const lists = [this.handlers, this.lines, this.streams, this.states];
    return lists.map((list) => list.length);
  }

  private dispatch(until: number, most: number): Ended {
    if (this.running) throw new Error('a handler must not run the kernel that called it');
    this.running = true;
    try {
      // Events are counted down in steps that stay small integers.
      for (let left = most; left > 0; left -= mostAtOnce) {
        const ended = this.dispatchSome(until, Math.min(left, mostAtOnce));
        if (ended !== 'count') return ended;
      }
      return 'count';
    } finally {
      this.running = false;
      this.pausing = false;
    }
  }

  private dispatchSome(until: number, most: number): Ended {
    const { clock, front, wheel, handlers, lines } = this;
    // Sums make numbers of what may be objects, once instead of at each event.
    const end = until + 0;
    for (let left = most | 0; left > 0; left--) {
      const { heads, line: place } = front;
      const ofLine = heads[place]!;
      const time = heads[0]!;
      if (time < ofLine || (time === ofLine && heads[1]! < heads[place + 1]!)) {
        if (time > end) return time === Infinity ? 'empty' : 'time';
        clock[nowAt] = time;
        const slot = wheel.take();
        const { words } = wheel;
        const kind = words[slot + kindAt]!;
        const handler = handlers[kind < 0 ? wheel.expire(-1 - kind) : kind]!;
        handler(words[slot + argumentAt]!);
      } else {
        if (ofLine > end) return ofLine === Infinity ? 'empty' : 'time';
        clock[nowAt] = ofLine;
        const line = lines[(place >> 1) - 1]!;
        const at = line.take();
        const handler = handlers[line.what[at]!]!;
        handler(line.what[at + 1]!);
      }
      if (this.pausing) return 'paused';
    }
    return 'count';
  }

  private each(visit: Visit): void {
    this.wheel.each(visit);
    for (const line of this.lines) line.each(visit);
  }

  private move(ticks: number): void {
    if (this.running) throw new Error('the clock is moved between events: pause first');
    this.clock[nowAt]! += ticks;
    this.wheel.shift(ticks);
    for (const line of this.lines) line.shift(ticks);
    for (const state of this.states) state.shift?.(ticks);
  }
}
