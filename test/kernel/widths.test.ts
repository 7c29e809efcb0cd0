import { describe, expect, it } from 'vitest';
import { Kernel, lastTime, type RandomStream } from '../../src/kernel/index.ts';

const timers = 32;

/**
 * Events of random delay whose scale goes from single ticks to 2^30 and back, as many at a time as
 * `crowd`: the buckets of the wheel have to become wider, narrower and wider again, and events have
 * to come over from beyond the horizon. Timers are set and cancelled among them.
 */
class Scales {
  readonly kernel = new Kernel({ seed: 4 });
  readonly seen: number[] = [];
  private readonly random: RandomStream = this.kernel.stream();
  private phase = 0;
  private left = 0;
  private last = { time: 0, order: -1 };
  private scheduled = 0;

  constructor(crowd: number) {
    const { kernel, random } = this;
    const ring = Array.from({ length: timers }, () => kernel.timer(kernel.register(() => {})));
    const event: number = kernel.register((order) => {
      this.note(order);
      if (--this.left <= 0) {
        this.phase++;
        this.left = 4 * crowd;
      }
      const bits = 30 - Math.abs(30 - ((3 * this.phase) % 60));
      kernel.scheduleAfter(random.integer(0, 2 ** bits - 1), event, this.scheduled++);
      const timer = ring[random.integer(0, timers - 1)]!;
      if (random.chance(0.5)) timer.setAfter(random.integer(0, 2 ** bits));
      else timer.cancel();
    });
    for (let i = 0; i < crowd; i++) kernel.schedule(0, event, this.scheduled++);
    kernel.attach({
      save: (to) => to.numbers([this.phase, this.left, this.scheduled]),
      load: (from) => {
        this.phase = from.number();
        this.left = from.number();
        this.scheduled = from.number();
      },
    });
  }

  /** Arguments count scheduled events, so equal times have to come in the order of arguments. */
  private note(order: number) {
    const { time } = this.last;
    const { now } = this.kernel;
    if (now < time || (now === time && order < this.last.order)) {
      throw new Error(`event ${order} of ${now} came after ${this.last.order} of ${time}`);
    }
    this.last = { time: now, order };
    this.seen.push(order);
  }
}

describe('buckets of changing width', () => {
  it.each([3, 100, 3000])('keep the order and lose nothing, %i events waiting', (crowd) => {
    const { kernel, seen } = new Scales(crowd);
    kernel.run(60 * 4 * crowd);
    expect(kernel.now).toBeGreaterThan(2 ** 30);
    const orders = Int32Array.from(seen).sort();
    // Every event that came made another: none came twice, and `crowd` wait besides timers.
    expect(new Set(seen).size).toBe(seen.length);
    expect(orders.at(-1)).toBeLessThan(seen.length + crowd);
    const waiting = kernel.relativeState();
    let others = 0;
    for (let i = 1; i < waiting.length; i += 3) if (waiting[i] === timers) others++;
    expect(others).toBe(crowd);
  });

  it('have no part in a checkpoint: one restored in a new kernel goes on alike', () => {
    const one = new Scales(200).kernel;
    for (let slice = 0; slice < 24; slice++) {
      one.run(1501);
      const other = new Scales(200).kernel;
      other.restore(one.checkpoint());
      expect(other.hash()).toBe(one.hash());
      one.run(499);
      other.run(499);
      expect(other.hash()).toBe(one.hash());
    }
  });

  it('hold up to the last time there is', () => {
    const kernel = new Kernel({ seed: 1 });
    const seen: number[] = [];
    const kind = kernel.register((argument) => seen.push(argument));
    // So many beyond the horizon that the buckets become as wide as they can.
    for (let i = 0; i < 20_000; i++) kernel.schedule(lastTime - (i % 7), kind, i);
    kernel.schedule(1, kind, -1);
    kernel.run();
    expect(kernel.now).toBe(lastTime);
    const expected = Array.from({ length: 20_000 }, (_, i) => i);
    expected.sort((a, b) => (b % 7) - (a % 7) || a - b);
    expect(seen).toEqual([-1, ...expected]);
  });
});
