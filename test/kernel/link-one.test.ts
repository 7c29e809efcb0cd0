import { describe, expect, it } from 'vitest';
import { constantLinks, mixedLinks, stated } from '../../benchmarks/kernel-link-model.mjs';
import { Kernel } from '../../src/kernel/index.ts';

const million = 1_000_000;

describe('model link-1', () => {
  it.each([500, 6000] as const)(
    'ends as stated after a million packets, credits after %i ns',
    (d) => {
      // The figures are part of the model's statement: worked out by hand for the last event (148 a
      // packet + 50 + 500; 32 packets every 6198 + 6050), and met by two other simulators that run
      // the model in benchmarks/peers.
      const kernel = new Kernel({ seed: 1 });
      const totals = constantLinks(kernel, { links: 1, packets: million, creditDelay: d });
      expect(kernel.run()).toBe('empty');
      expect(kernel.now).toBe(stated[d].last);
      expect(totals.arrivals).toBe(stated[d].arrivals);
      expect(totals.count).toBe(million);
      expect(totals.acknowledged).toBe(million);
      // The start, then wire free, arrival and credit return of each packet, and a quarter of an
      // ack.
      expect(kernel.dispatched).toBe(1 + 3.25 * million);
    },
  );

  it('is the sum of its links when 64 share one kernel, in the tournament and in the scan', () => {
    const delays = Array.from({ length: 64 }, (_, i) => 500 + 90 * i);
    const size = { links: 64, packets: 500, creditDelay: delays };
    const kernel = new Kernel({ seed: 1 });
    const totals = constantLinks(kernel, size);
    kernel.run();
    let [arrivals, last] = [0, 0];
    for (const creditDelay of delays) {
      const alone = new Kernel({ seed: 1 });
      const one = constantLinks(alone, { links: 1, packets: 500, creditDelay });
      alone.run();
      last = Math.max(last, alone.now);
      arrivals += one.arrivals;
    }
    expect([kernel.now, totals.arrivals, totals.count]).toEqual([last, arrivals, 64 * 500]);
  });

  it('gives all credits back with mixed sizes and random delays, alike for a seed', () => {
    const run = (seed: number) => {
      const kernel = new Kernel({ seed });
      const size = { links: 8, packets: 5000, creditDelay: 2000 };
      const totals = mixedLinks(kernel, kernel.stream(), size);
      kernel.run();
      expect(totals.count).toBe(8 * 5000);
      expect([...totals.headers]).toEqual(new Array(8).fill(32));
      expect([...totals.data]).toEqual(new Array(8).fill(256));
      return [kernel.now, totals.arrivals, kernel.hash()];
    };
    expect(run(1)).toEqual(run(1));
    expect(run(1)).not.toEqual(run(2));
  });
});
