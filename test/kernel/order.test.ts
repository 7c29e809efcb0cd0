import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel, lastTime, type Timer } from '../../src/kernel/index.ts';

const timers = 5;

/** The oracle: every event in one list, the earliest found by looking at all of them. */
class SortedList {
  now = 0;
  private order = 0;
  private events: { time: number; order: number; argument: number }[] = [];

  add(time: number, argument: number): number {
    this.events.push({ time, order: this.order, argument });
    return this.order++;
  }

  cancel(order: number): boolean {
    const at = this.events.findIndex((event) => event.order === order);
    if (at >= 0) this.events.splice(at, 1);
    return at >= 0;
  }

  timeOf(order: number): number | undefined {
    return this.events.find((event) => event.order === order)?.time;
  }

  earliest(): { time: number; argument: number } | undefined {
    return this.events.toSorted((a, b) => a.time - b.time || a.order - b.order)[0];
  }

  take(): number | undefined {
    const first = this.events.toSorted((a, b) => a.time - b.time || a.order - b.order)[0];
    if (!first) return undefined;
    this.now = first.time;
    this.cancel(first.order);
    return first.argument;
  }

  get size(): number {
    return this.events.length;
  }
}

/** Few delays and short ones, so that most times are shared by several events. */
const step = fc.oneof(
  { weight: 5, arbitrary: fc.record({ do: fc.constant('at' as const), n: fc.nat(6) }) },
  { weight: 5, arbitrary: fc.record({ do: fc.constant('set' as const), n: fc.nat(63) }) },
  { weight: 5, arbitrary: fc.record({ do: fc.constant('line' as const), n: fc.nat(63) }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant('cancel' as const), n: fc.nat(200) }) },
  { weight: 5, arbitrary: fc.record({ do: fc.constant('step' as const), n: fc.nat(3) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('until' as const), n: fc.nat(5) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('restore' as const), n: fc.nat(0) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('rebase' as const), n: fc.nat(0) }) },
);

/** A kernel and the oracle fed the same; what either dispatches is compared as it happens. */
class Pair {
  readonly oracle = new SortedList();
  /** What the oracle calls the event each timer was last set for. */
  private readonly orders: (number | undefined)[] = new Array(timers).fill(undefined);
  private readonly seen: number[] = [];
  private since = 0;
  private next = 0;
  private kernel: Kernel;
  private timers: Timer[] = [];
  private readonly lineCount: number;

  constructor(lineCount: number) {
    this.lineCount = lineCount;
    this.kernel = this.build();
  }

  private build(): Kernel {
    const kernel = new Kernel({ seed: 1 });
    kernel.register((argument) => this.seen.push(argument));
    for (let delay = 0; delay < this.lineCount; delay++) kernel.delayLine(delay);
    this.timers = Array.from({ length: timers }, () => kernel.timer(0));
    return kernel;
  }

  apply(
    action: 'at' | 'set' | 'line' | 'cancel' | 'step' | 'until' | 'restore' | 'rebase',
    n: number,
  ) {
    if (action === 'at') {
      this.kernel.scheduleAfter(n, 0, this.next);
      this.oracle.add(this.oracle.now + n, this.next++);
    } else if (action === 'set') this.set(n % timers, n >> 3);
    else if (action === 'line') {
      const delay = n % this.lineCount;
      this.kernel.delayLine(delay).send(0, this.next);
      this.oracle.add(this.oracle.now + delay, this.next++);
    } else if (action === 'cancel') this.cancel(n);
    else if (action === 'step') for (let i = 0; i <= n; i++) this.step();
    else if (action === 'until') this.until(n);
    else if (action === 'restore') {
      const saved = this.kernel.checkpoint();
      const hash = this.kernel.hash();
      this.kernel = this.build();
      this.kernel.restore(saved);
      expect(this.kernel.hash()).toBe(hash);
    } else {
      this.since += this.kernel.now;
      this.kernel.rebase();
      expect(this.kernel.origin).toBe(BigInt(this.since));
    }
    expect(this.kernel.pending).toBe(this.oracle.size);
    const first = this.oracle.earliest();
    expect(this.kernel.nextTime).toBe(first ? first.time - this.since : Infinity);
  }

  private cancel(n: number) {
    const timer = this.timers[n % timers]!;
    const order = this.orders[n % timers] ?? -1;
    expect(timer.time).toBe((this.oracle.timeOf(order) ?? Infinity) - this.since);
    expect(timer.pending).toBe(this.oracle.timeOf(order) !== undefined);
    expect(timer.cancel()).toBe(this.oracle.cancel(order));
  }

  private set(which: number, delay: number) {
    this.oracle.cancel(this.orders[which] ?? -1);
    this.timers[which]!.setAfter(delay, this.next);
    this.orders[which] = this.oracle.add(this.oracle.now + delay, this.next++);
  }

  private step() {
    const expected = this.oracle.take();
    this.seen.length = 0;
    expect(this.kernel.step()).toBe(expected !== undefined);
    expect(this.seen).toEqual(expected === undefined ? [] : [expected]);
    expect(this.kernel.now + this.since).toBe(this.oracle.now);
  }

  private until(ticks: number) {
    const time = this.oracle.now + ticks;
    const expected: (number | undefined)[] = [];
    while ((this.oracle.earliest()?.time ?? Infinity) <= time) expected.push(this.oracle.take());
    this.oracle.now = time;
    this.seen.length = 0;
    this.kernel.runUntil(time - this.since);
    expect(this.seen).toEqual(expected);
    expect(this.kernel.now + this.since).toBe(time);
  }

  drain() {
    while (this.oracle.size > 0) this.step();
    this.step();
  }
}

describe('order of events', () => {
  it.each([
    ['the wheel and one delay line', 1],
    ['few delay lines, scanned', 5],
    ['as many as are scanned', 8],
    ['many delay lines, in a tournament', 9],
    ['more than one growth of the tournament', 40],
  ])('is that of a sorted list, with cancel, restore and rebase: %s', (_name, lines) => {
    fc.assert(
      fc.property(fc.array(step, { minLength: 1, maxLength: 120 }), (steps) => {
        const pair = new Pair(lines);
        for (const { do: action, n } of steps) pair.apply(action, n);
        pair.drain();
      }),
      { numRuns: 150 },
    );
  });

  it('breaks ties by order of scheduling, over wheel and delay lines', () => {
    const kernel = new Kernel({ seed: 1 });
    const seen: number[] = [];
    const kind = kernel.register((argument) => seen.push(argument));
    const early = kernel.register(() => {
      // At the present time: after all that is scheduled for it already.
      kernel.schedule(kernel.now, kind, 5);
      kernel.delayLine(0).send(kind, 6);
    });
    kernel.schedule(10, early);
    kernel.delayLine(10).send(kind, 1);
    kernel.schedule(10, kind, 2);
    kernel.delayLine(10).send(kind, 3);
    kernel.schedule(10, kind, 4);
    kernel.run();
    expect(seen).toEqual([1, 2, 3, 4, 5, 6]);
    expect(kernel.now).toBe(10);
  });

  it('holds for thousands of events in the wheel', () => {
    const kernel = new Kernel({ seed: 3 });
    const random = kernel.stream();
    const expected: number[][] = [];
    const seen: number[][] = [];
    const kind = kernel.register((argument) => seen.push([kernel.now, argument]));
    const cancelled: Timer[] = [];
    for (let i = 0; i < 20_000; i++) {
      const time = random.integer(0, 3000);
      if (i % 3 === 0) {
        const timer = kernel.timer(kind);
        timer.set(time, i);
        cancelled.push(timer);
      } else {
        kernel.schedule(time, kind, i);
        expected.push([time, i]);
      }
    }
    for (const timer of cancelled) expect(timer.cancel()).toBe(true);
    kernel.run();
    expect(seen).toEqual(expected.sort((a, b) => a[0]! - b[0]! || a[1]! - b[1]!));
    expect(kernel.dispatched).toBe(expected.length);
  });

  it('holds for times of every magnitude, with timers cancelled when earliest', () => {
    const far = fc.tuple(fc.nat(52), fc.nat(2 ** 31 - 1)).map(([bits, n]) => {
      const most = 2 ** bits;
      return Math.floor((n / 2 ** 31) * most);
    });
    fc.assert(
      fc.property(fc.array(fc.tuple(far, fc.nat(3)), { minLength: 1, maxLength: 80 }), (list) => {
        const kernel = new Kernel({ seed: 1 });
        const oracle = new SortedList();
        const seen: number[] = [];
        const kind = kernel.register((argument) => seen.push(argument));
        const timer = kernel.timer(kind);
        let order = -1;
        const expected: number[] = [];
        for (const [i, [delay, what]] of list.entries()) {
          const time = Math.min(kernel.now + delay, lastTime);
          if (what === 0) {
            oracle.cancel(order);
            timer.set(time, i);
            order = oracle.add(time, i);
          } else {
            kernel.schedule(time, kind, i);
            oracle.add(time, i);
          }
          if (what === 2) {
            kernel.step();
            expected.push(oracle.take()!);
            expect(kernel.now).toBe(oracle.now);
          }
          if (what === 3) expect(timer.cancel()).toBe(oracle.cancel(order));
        }
        kernel.run();
        while (oracle.size > 0) expected.push(oracle.take()!);
        expect(seen).toEqual(expected);
      }),
      { numRuns: 400 },
    );
  });
});
