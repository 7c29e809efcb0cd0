import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BusSimulation } from '../../../src/links/pci/clocks/bus.ts';
import type { ArbiterRule, MasterConfig, SegmentConfig } from '../../../src/links/pci/config.ts';
import { shares } from '../../../src/links/pci/sharing.ts';
import { tenures, worstWaits } from '../../../src/links/pci/tenure.ts';
import { rational, toNumber } from '../../../src/quantity/index.ts';
import { busSpeed } from '../../../src/standards/pci-bus.ts';
import { bus, bus133, master, segments, stream, target } from './segments.ts';

const endless = { ...stream, count: Number.POSITIVE_INFINITY };

function segmentWith(rule: ArbiterRule, own: readonly Partial<MasterConfig>[]): SegmentConfig {
  return {
    bus: { ...bus, arbiter: { ...bus.arbiter, rule } },
    masters: own.map((change, i) => ({ ...master, name: `m${i}`, ...change })),
    streams: own.map(() => endless),
    targets: [target],
  };
}

/** Bytes of each stream in a window that begins on a full bus. */
function moved(segment: SegmentConfig, clocks: number): number[] {
  const simulation = new BusSimulation(segment);
  simulation.run(20_000);
  const before = simulation.masters.map((m) => m.counts.bytes);
  simulation.run(clocks);
  return simulation.masters.map((m, i) => m.counts.bytes - before[i]!);
}

describe('shares of a full bus', () => {
  const sizes = fc.constantFrom(32, 64, 128, 256, 512, 1024);
  const crowd = fc.record({
    rule: fc.constantFrom<ArbiterRule>('rotating', 'two levels'),
    own: fc.array(
      fc.record({
        burstBytes: sizes,
        latencyTimer: fc.integer({ min: 16, max: 255 }),
        level: fc.constantFrom<1 | 2>(1, 2),
        keepsRequest: fc.boolean(),
      }),
      { minLength: 2, maxLength: 5 },
    ),
    pcix: fc.boolean(),
  });

  test('simulation gives each stream its share within one burst and a half', () => {
    fc.assert(
      fc.property(crowd, ({ rule, own, pcix }) => {
        const base = segmentWith(rule, own);
        const arbiter = base.bus.arbiter;
        const segment = pcix
          ? { ...base, bus: { ...bus133, arbiter }, targets: [{ ...target, decode: 'B' as const }] }
          : base;
        const clocks = 40_000;
        const { periodTenthsNs } = busSpeed(segment.bus.speed);
        const seen = moved(segment, clocks);
        const closed = shares(
          segment,
          own.map(() => undefined),
        );
        for (const [i, share] of closed.entries()) {
          const bytes = (toNumber(share.rate) * clocks * periodTenthsNs) / 1e10;
          // Either end of the window cuts a turn, and turns of one stream differ in length.
          const bursts = Math.abs(bytes - seen[i]!) / own[i]!.burstBytes;
          expect(bursts, share.name).toBeLessThanOrEqual(1.5);
        }
      }),
      { numRuns: 60 },
    );
  });

  test('equal turns, not equal bytes: long bursts get more', () => {
    const [short, long] = shares(
      segmentWith('rotating', [{ burstBytes: 64 }, { burstBytes: 256 }]),
      [undefined, undefined],
    );
    expect(toNumber(long!.rate) / toNumber(short!.rate)).toBeCloseTo(4, 6);
  });

  test('a stream that needs less than its turn keeps its need, and the other has the rest', () => {
    const need = rational(10_000_000);
    const segment = segmentWith('rotating', [{ burstBytes: 64 }, { burstBytes: 256 }]);
    const [a, b] = shares(segment, [need, undefined]);
    expect(a).toMatchObject({ rate: need, limitedBy: 'need', starves: false });
    // 10 MB/s of 64 B bursts of 19 clocks; the rest in bursts of 256 B, 67 clocks.
    const left = 1 - (10e6 / 64) * 19 * 30e-9;
    expect(toNumber(b!.rate)).toBeCloseTo((left / (67 * 30e-9)) * 256, 0);
  });

  test('by fixed priority the last of several starves and is named', () => {
    const segment = segmentWith('fixed', [{}, { burstBytes: 64 }]);
    const [first, last] = shares(segment, [undefined, rational(1_000_000)]);
    expect(first!.starves).toBe(false);
    expect(last).toMatchObject({ name: 'm1', starves: true, worstWait: undefined });
    // The first keeps asking: the bus is never free for the other.
    expect(moved(segment, 20_000)[1]).toBe(0);
  });
});

describe('worst waits', () => {
  test('are never exceeded, whatever the segment', () => {
    fc.assert(
      fc.property(segments, fc.integer({ min: 0, max: 1000 }), (segment, seed) => {
        const bounds = worstWaits(segment);
        const simulation = new BusSimulation(segment, { seed });
        simulation.run(4000);
        const counts = [...simulation.masters.map((m) => m.counts), ...simulation.completions];
        counts.forEach((c, i) => {
          const bound = bounds[i]!.clocks;
          if (bound !== undefined)
            expect(c.longestWait, bounds[i]!.name).toBeLessThanOrEqual(bound);
        });
      }),
      { numRuns: 800 },
    );
  });

  test('are reached within eight clocks where two others always ask', () => {
    // The third comes at every moment in turn: its gap runs through all phases of the others' round.
    const own = [{ burstBytes: 256 }, { burstBytes: 512 }, { burstBytes: 32 }];
    const base = segmentWith('rotating', own);
    let worst = 0;
    for (let gap = 0; gap < 250; gap += 1) {
      const rare = { ...endless, bytes: 32, gap };
      const simulation = new BusSimulation({ ...base, streams: [endless, endless, rare] });
      simulation.run(6000);
      worst = Math.max(worst, simulation.masters[2]!.counts.longestWait);
    }
    const bound = worstWaits(base)[2]!.clocks!;
    expect(worst).toBeLessThanOrEqual(bound);
    expect(worst).toBeGreaterThanOrEqual(bound - 8);
  });

  test('the latency timer bounds what others wait', () => {
    const long = { burstBytes: 4096 };
    const wait = (latencyTimer: number) =>
      worstWaits(segmentWith('rotating', [{ ...long, latencyTimer }, long]))[1]!.clocks!;
    expect(wait(32)).toBeLessThan(wait(64));
    // T + 8 clocks, as a note on access latency has it for zero wait states, and the grant's way.
    expect(wait(40)).toBeLessThanOrEqual(40 + 8 + 2 + 6);
  });

  test('a buffer holds what comes while others have the bus', () => {
    const segment = segmentWith('rotating', [{ burstBytes: 256 }, { burstBytes: 512 }]);
    const [own] = shares(segment, [rational(40_000_000), undefined]);
    // 40 MB/s are 1.2 bytes a clock of 30 ns.
    const clocks = own!.worstWait! + tenures(segment)[0]!.toFirstData;
    expect(own!.buffer!.whileWaiting).toBe(Math.ceil(1.2 * clocks));
    expect(own!.buffer!.withBurst - own!.buffer!.whileWaiting).toBe(256);
  });
});
