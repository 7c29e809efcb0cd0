import { describe, expect, it } from 'vitest';
import { Kernel } from '../../src/kernel/index.ts';

/** Ever the same number of events waiting: sixteen random ones, four on the way, a timer reset. */
function steady() {
  const kernel = new Kernel({ seed: 5 });
  const random = kernel.stream();
  const wire = kernel.delayLine(50);
  const timeout = kernel.register(() => undefined);
  const passed: number = kernel.register((which) => wire.send(passed, which));
  const work: number = kernel.register((which) => {
    timer.setAfter(1000, which);
    kernel.scheduleAfter(random.exponential(70), work, which);
  });
  const timer = kernel.timer(timeout);
  for (let i = 0; i < 16; i++) kernel.schedule(i, work, i);
  for (let i = 0; i < 4; i++) kernel.schedule(i, passed, i);
  return kernel;
}

describe('memory', () => {
  it('does not grow with simulated time', () => {
    const kernel = steady();
    kernel.run(20_000);
    const size = kernel.checkpoint().length;
    kernel.run(2_000_000);
    expect(kernel.now).toBeGreaterThan(2_000_000);
    // At most one timeout and its slot may have been there at one moment and not at the other.
    expect(Math.abs(kernel.checkpoint().length - size)).toBeLessThan(16);
    expect(kernel.pending).toBeLessThan(22);
  });

  it('is not allocated per event', () => {
    const kernel = steady();
    // Past 2^31 ticks, so that times are no small integers, and past compilation.
    kernel.skip(2 ** 40);
    kernel.run(2_000_000);
    const grown: number[] = [];
    for (let slice = 0; slice < 9; slice++) {
      const before = process.memoryUsage().heapUsed;
      kernel.run(100_000);
      grown.push(process.memoryUsage().heapUsed - before);
    }
    // A double that became an object at each event would be 1.2 MB or more in a slice. The median
    // is blind to a collection, which makes one slice's growth negative.
    expect(grown.sort((a, b) => a - b)[4]).toBeLessThan(100_000);
  });
});
