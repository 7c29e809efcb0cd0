import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BusSimulation } from '../../../src/links/pci/clocks/bus.ts';
import { phases } from '../../../src/links/pci/layout.ts';
import { BusObserver } from '../../../src/links/pci/observe.ts';
import { accounts } from '../../../src/model/accounts.ts';
import { segmentOf, segments, singles } from './segments.ts';

/** The simulator's own ledger, by the causes that it knows, beside the one read off its lines. */
function both(
  config: Parameters<typeof segmentOf>[0] | ReturnType<typeof segmentOf>,
  clocks: number,
) {
  const segment = 'masters' in config ? config : segmentOf(config);
  const { mode } = new BusSimulation(segment);
  const observer = new BusObserver({ mode, widthBits: segment.bus.widthBits });
  const simulation = new BusSimulation(segment, { sink: observer, seed: 7 });
  simulation.run(clocks);
  while (!simulation.settled) simulation.run(1);
  simulation.close();
  observer.cut(simulation.now - 1);
  return { simulation, observer };
}

function compare(simulation: BusSimulation, observer: BusObserver): void {
  const own = simulation.tally.phases();
  const seen = observer.phases();
  phases.forEach((p, i) => {
    expect(seen[i], p.id).toBe(own[i]);
  });
  const ledger = Object.fromEntries(observer.ledger().map((r) => [r.account, r.ticks]));
  const sums = simulation.tally.accounts();
  accounts.forEach((a, i) => {
    expect(ledger[a.id] ?? 0, a.id).toBe(sums[i]);
  });
  expect(sums.reduce((sum, n) => sum + n, 0)).toBe(simulation.now);
  const bytes = simulation.masters.reduce((sum, m) => sum + m.counts.bytes, 0);
  expect(observer.bytes).toBe(bytes);
}

describe('what an observer reads off the lines is what the simulator knows', () => {
  test('of one master', () => {
    fc.assert(
      fc.property(singles, fc.integer({ min: 1, max: 2000 }), (single, clocks) => {
        const { simulation, observer } = both(single, clocks);
        compare(simulation, observer);
      }),
      { numRuns: 500 },
    );
  });

  test('of several masters and targets', () => {
    fc.assert(
      fc.property(segments, fc.integer({ min: 1, max: 4000 }), (segment, clocks) => {
        const { simulation, observer } = both(segment, clocks);
        compare(simulation, observer);
      }),
      { numRuns: 500 },
    );
  });
});
