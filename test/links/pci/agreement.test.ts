import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BusSimulation } from '../../../src/links/pci/clocks/bus.ts';
import type { SingleMaster } from '../../../src/links/pci/config.ts';
import { phaseIndex, phases } from '../../../src/links/pci/layout.ts';
import { accountsOf, run, steady } from '../../../src/links/pci/single.ts';
import { accountIndex } from '../../../src/model/accounts.ts';
import { segmentOf, singles } from './segments.ts';

/** Clocks by phase from the first address phase to the turnaround behind the last transaction. */
function simulated(single: SingleMaster) {
  const simulation = new BusSimulation(segmentOf(single));
  expect(simulation.runToEnd(2_000_000), 'the simulation ends').toBe(true);
  const [master] = simulation.masters;
  const { bytes, retries, firstStart } = master!.counts;
  const agents = 1 + simulation.completions.length;
  const sums = phases.map((_, p) => {
    let sum = simulation.tally.phasesOf(-1)[p]!;
    for (let a = 0; a < agents; a++) sum += simulation.tally.phasesOf(a)[p]!;
    return sum;
  });
  const clocks = simulation.now - firstStart;
  return { bytes, retries, clocks, sums, lead: firstStart };
}

describe('closed form and simulation of one master', () => {
  test('agree clock for clock, phase by phase', () => {
    fc.assert(
      fc.property(singles, (single) => {
        const closed = run(single);
        const { bytes, retries, clocks, sums, lead } = simulated(single);
        // What passes before the first address phase is idle or arbitration.
        const outside = sums[phaseIndex.idle]! + sums[phaseIndex.arbitration]! - lead;
        const expected = closed.phases[phaseIndex.idle]! + closed.phases[phaseIndex.arbitration]!;
        expect({ bytes, clocks, outside }).toEqual({
          bytes: closed.bytes,
          clocks: closed.clocks,
          outside: expected,
        });
        expect(retries).toBe(closed.retries);
        for (const p of phases) {
          if (p.id === 'idle' || p.id === 'arbitration') continue;
          expect(sums[phaseIndex[p.id]], p.id).toBe(closed.phases[phaseIndex[p.id]]);
        }
      }),
      { numRuns: 2000 },
    );
  }, 60_000);
});

describe('an endless sequence of transfers', () => {
  test('takes for each what one more takes in a longer run', () => {
    fc.assert(
      fc.property(singles, (single) => {
        const counted = (count: number) => run({ ...single, stream: { ...single.stream, count } });
        const [three, four] = [counted(3), counted(4)];
        const each = steady(single);
        expect(each.clocks).toBe(four.clocks - three.clocks);
        expect(each.bytes).toBe(single.stream.bytes);
        expect(each.phases).toEqual(four.phases.map((clocks, i) => clocks - three.phases[i]!));
        expect(each.phases.reduce((sum, n) => sum + n, 0)).toBe(each.clocks);
      }),
      { numRuns: 300 },
    );
  });

  test('the ledger by account is that by phase, and balances', () => {
    fc.assert(
      fc.property(singles, (single) => {
        const time = run(single);
        const sums = accountsOf(time.phases);
        expect(sums.reduce((sum, n) => sum + n, 0)).toBe(time.clocks);
        expect(sums[accountIndex.payload]).toBe(time.phases[phaseIndex.data]);
      }),
      { numRuns: 300 },
    );
  });
});
