/** Two streams with set-ups on one link: what the closed form leaves out, as docs/simulator.md bounds it. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { toNumber } from '../../src/quantity/index.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { simulateNetwork } from '../../src/system/simulate/index.ts';
import { link, networkOf, receiver } from './networks.ts';

const anyPair = fc.record({
  kinds: fc.constantFrom(['read', 'read'], ['read', 'write'], ['write', 'write']),
  one: fc.boolean(),
  setup: fc.tuple(fc.integer({ min: 2, max: 4 }), fc.integer({ min: 1, max: 5 })),
  packets: fc.constantFrom(1, 2, 4, 8, 32),
  out: fc.constantFrom(1, 2, 4, 8, 16, 32),
  latency: fc.constantFrom(500, 5000, 20_000, 60_000),
  back: fc.constantFrom(500, 5000, 20_000),
  credits: fc.constantFrom(4, 16, 64),
});

describe('two streams that prepare their transfers', () => {
  it('wait for each other as the closed form does not: mostly little, within 45 % of all', () => {
    const differences: number[] = [];
    fc.assert(
      fc.property(anyPair, ({ kinds, one, setup, packets, out, latency, back, credits }) => {
        const end = { ...receiver, packetsPerAck: 4, packetsPerUpdate: 4 };
        const rootSide = { ...end, postedHeaders: credits, creditReturnTicks: back };
        const specs = kinds.map((kind, i) => ({
          flow: { kind, transferBytes: packets * 128, requestBytes: 128 } as {
            kind: 'read' | 'write';
          },
          engine: one ? 'engine' : `engine ${i}`,
          pauses: { perTransfer: setup[1] * 10 ** setup[0] },
          reads: { window: out, latency },
        }));
        const network = networkOf([link({ rootSide, moduleSide: end })], specs);
        const sum = (rates: readonly number[]) => rates.reduce((all, rate) => all + rate, 0);
        const closed = sum(bytesPerSecond(evaluate(network, [])).map(toNumber));
        const result = simulateNetwork(network, { seed: 1, warmUp: 3e6, window: 1e7 });
        const found = sum(result.streams.map(({ rate }) => toNumber(rate)));
        differences.push(found / closed - 1);
        expect(found / closed - 1).toBeLessThan(0.05);
        expect(found / closed - 1).toBeGreaterThan(-0.45);
      }),
      { numRuns: 60 },
    );
    const sorted = differences.map(Math.abs).sort((a, b) => a - b);
    expect(sorted[Math.floor(sorted.length / 2)]).toBeLessThan(0.01);
  });
});
