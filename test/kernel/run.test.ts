import { describe, expect, it } from 'vitest';
import { Kernel, lastTime } from '../../src/kernel/index.ts';

/** A clock that ticks every ten, counting. */
function ticking() {
  const kernel = new Kernel({ seed: 1 });
  const line = kernel.delayLine(10);
  const times: number[] = [];
  const tick: number = kernel.register((left) => {
    times.push(kernel.now);
    if (left > 0) line.send(tick, left - 1);
  });
  kernel.schedule(10, tick, 99);
  return { kernel, times, tick };
}

describe('running', () => {
  it('stops at a time, inclusive, and stands there', () => {
    const { kernel, times } = ticking();
    expect(kernel.runUntil(30)).toBe('time');
    expect(times).toEqual([10, 20, 30]);
    expect(kernel.runUntil(39)).toBe('time');
    expect(kernel.now).toBe(39);
    expect(kernel.dispatched).toBe(3);
    expect(kernel.run()).toBe('empty');
    expect(kernel.now).toBe(1000);
    expect(kernel.runUntil(2000)).toBe('empty');
    expect(kernel.now).toBe(2000);
    expect(kernel.step()).toBe(false);
  });

  it('stops after a count of events, and goes on to the same end', () => {
    const { kernel } = ticking();
    const whole = ticking().kernel;
    whole.run();
    expect(kernel.run(7)).toBe('count');
    expect([kernel.now, kernel.dispatched]).toEqual([70, 7]);
    expect(kernel.runUntil(1000, 0)).toBe('count');
    expect(kernel.runUntil(500, 20)).toBe('count');
    expect(kernel.now).toBe(270);
    while (kernel.run(11) === 'count');
    expect(kernel.hash()).toBe(whole.hash());
  });

  it('pauses when a handler asks, after that event', () => {
    const { kernel, times } = ticking();
    const pause = kernel.register(() => kernel.pause());
    kernel.schedule(20, pause);
    expect(kernel.run()).toBe('paused');
    expect(times).toEqual([10]);
    expect(kernel.run()).toBe('empty');
    kernel.pause();
    expect(kernel.run()).toBe('empty');
  });

  it('survives a handler that throws: the event is over, the rest goes on', () => {
    const { kernel, times } = ticking();
    const fail = kernel.register(() => {
      throw new Error('from the model');
    });
    kernel.schedule(15, fail);
    expect(() => kernel.run()).toThrow('from the model');
    expect(kernel.run()).toBe('empty');
    expect(times.length).toBe(100);
  });

  it('lets pending events pass a skip of time unchanged', () => {
    const { kernel, times } = ticking();
    kernel.run(2);
    const before = kernel.relativeState();
    kernel.skip(1_000_000);
    expect(kernel.now).toBe(1_000_020);
    expect(kernel.relativeState()).toEqual(before);
    kernel.run(1);
    expect(times).toEqual([10, 20, 1_000_030]);
  });

  it('rebases near the last time, and refuses to go beyond it', () => {
    const { kernel, tick } = ticking();
    kernel.run(1);
    expect(() => kernel.skip(lastTime)).toThrow(/beyond 2\^53 - 1/);
    kernel.skip(lastTime - 20);
    expect(() => kernel.run()).toThrow('beyond 2^53 - 1 ticks; rebase the clock');
    const { kernel: other, times } = ticking();
    other.run(1);
    other.skip(lastTime - 20);
    for (let i = 0; i < 3; i++) {
      other.rebase();
      expect(other.now).toBe(0);
      other.run(1);
      expect(other.now).toBe(10);
      other.skip(lastTime - 20);
    }
    expect(other.origin + BigInt(other.now)).toBe(4n * BigInt(lastTime - 10));
    expect(times).toEqual([10, 10, 10, 10]);
    expect(() => kernel.scheduleAfter(20, tick)).toThrow(/beyond 2\^53 - 1/);
  });

  it('refuses what it could not keep, naming what it got', () => {
    const { kernel, tick } = ticking();
    kernel.runUntil(15);
    expect(() => kernel.schedule(14, tick)).toThrow('from 15 on, got 14');
    expect(() => kernel.schedule(15.5, tick)).toThrow('got 15.5');
    expect(() => kernel.schedule(Number.NaN, tick)).toThrow('got NaN');
    expect(() => kernel.scheduleAfter(-1, tick)).toThrow('from 15 on, got 14');
    expect(() => kernel.schedule(20, tick + 1)).toThrow('one of the 1 registered kinds, got 1');
    expect(() => kernel.schedule(20, -1)).toThrow('got -1');
    expect(() => kernel.schedule(20, tick, 2 ** 31)).toThrow('32-bit integer, got 2147483648');
    expect(() => kernel.schedule(20, tick, 0.5)).toThrow('got 0.5');
    expect(() => kernel.delayLine(3).send(7)).toThrow('got 7');
    expect(() => kernel.delayLine(3).send(tick, 1e10)).toThrow('got 10000000000');
    expect(() => kernel.delayLine(-1)).toThrow('delay must be');
    expect(() => kernel.delayLine(1.5)).toThrow('got 1.5');
    expect(() => kernel.runUntil(3)).toThrow('from 15 on, got 3');
    expect(() => new Kernel({ seed: -1 })).toThrow('seed must be');
    expect(() => new Kernel({ seed: 0.1 })).toThrow('got 0.1');
    expect(kernel.pending).toBe(1);
  });

  it('refuses to be run, saved or moved from within a handler', () => {
    const kernel = new Kernel({ seed: 1 });
    const attempts = [
      () => kernel.run(),
      () => kernel.step(),
      () => kernel.checkpoint(),
      () => kernel.restore(new Float64Array(0)),
      () => kernel.rebase(),
      () => kernel.skip(1),
    ];
    const caught: unknown[] = [];
    const kind = kernel.register((which) => {
      try {
        attempts[which]!();
      } catch (error) {
        caught.push(error);
      }
    });
    for (let i = 0; i < attempts.length; i++) kernel.schedule(0, kind, i);
    kernel.run();
    expect(caught.length).toBe(attempts.length);
  });
});

describe('timers', () => {
  it('hold at most one event, and none once it is over, though its slot is used again', () => {
    const kernel = new Kernel({ seed: 1 });
    const seen: [number, number][] = [];
    const kind = kernel.register((argument) => seen.push([kernel.now, argument]));
    const timer = kernel.timer(kind);
    const other = kernel.timer(kind);
    expect([timer.pending, timer.time, timer.cancel()]).toEqual([false, Infinity, false]);
    timer.set(5, 1);
    expect([timer.pending, timer.time]).toEqual([true, 5]);
    timer.setAfter(7, 2);
    expect([timer.time, kernel.pending]).toEqual([7, 1]);
    kernel.run();
    expect(timer.pending).toBe(false);
    other.setAfter(3, 3);
    expect([timer.cancel(), other.pending]).toEqual([false, true]);
    kernel.run();
    kernel.schedule(20, kind, 4);
    expect([timer.cancel(), other.cancel()]).toEqual([false, false]);
    kernel.run();
    expect(seen).toEqual([
      [7, 2],
      [10, 3],
      [20, 4],
    ]);
    expect(kernel.dispatched).toBe(3);
    expect(() => kernel.timer(1)).toThrow('got 1');
    expect(() => timer.set(19)).toThrow('from 20 on, got 19');
    expect(timer.pending).toBe(false);
  });

  it('can be set again by the handler of their own event', () => {
    const kernel = new Kernel({ seed: 1 });
    const times: number[] = [];
    const kind = kernel.register((left) => {
      times.push(kernel.now);
      expect(timer.pending).toBe(false);
      if (left > 0) timer.setAfter(4, left - 1);
    });
    const timer = kernel.timer(kind);
    timer.set(1, 3);
    kernel.run();
    expect(times).toEqual([1, 5, 9, 13]);
  });
});
