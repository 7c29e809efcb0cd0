import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { pciParams } from '../../../src/links/pci/params.ts';
import { steady } from '../../../src/links/pci/single.ts';
import { busSpeed } from '../../../src/standards/pci-bus.ts';
import { singles } from './segments.ts';

/** Values to compare; what a mode does not know stays 0. */
const most: Record<string, number> = {
  target_initial_wait: 20,
  target_subsequent_wait: 7,
  master_subsequent_wait: 7,
  read_delay: 200,
};
const conventionalOnly = [
  'target_subsequent_wait',
  'master_initial_wait',
  'master_subsequent_wait',
];

describe('the declared direction of effect holds for', () => {
  for (const { id, effect, set } of pciParams) {
    if (effect === 'depends') continue;
    test(id, () => {
      const value = fc.integer({ min: 0, max: most[id]! });
      fc.assert(
        fc.property(singles, value, value, (single, a, b) => {
          const pcix = busSpeed(single.bus.speed).mode === 'pcix';
          if (pcix && conventionalOnly.includes(id)) return;
          const slow = steady(set(single, Math.max(a, b))).clocks;
          const fast = steady(set(single, Math.min(a, b))).clocks;
          expect(fast).toBeLessThanOrEqual(slow);
        }),
        { numRuns: 800 },
      );
    });
  }
});

test('nothing is declared to raise the rate that this test does not try', () => {
  expect(pciParams.filter((p) => p.effect === 'raises')).toEqual([]);
});
