/**
 * Links wider than a link-layer packet: of two that follow each other the second waits for its symbol
 * time. Where a wire carries more of them than packets, the closed form counts what stands filled.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fillTicks, packetTicks } from '../../src/links/pcie/charge.ts';
import { pcie } from '../../src/links/pcie/index.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { ledgersOf } from '../../src/system/ledgers.ts';
import { simulateNetwork } from '../../src/system/simulate/index.ts';
import { anyFlow, anyLink, grain, missing } from './agreement.ts';
import { link, networkOf, receiver } from './networks.ts';

const ack = { kind: 'Ack', wideAddress: false, payloadBytes: 0, paddingBytes: 0 } as const;

describe('more link-layer packets than packets', () => {
  it('leave a wide wire as full as the simulation finds it, at any width', () => {
    let wide = 0;
    const width = fc.constantFrom<8 | 16>(8, 16, 16);
    const each = fc.constantFrom(1, 1, 2);
    fc.assert(
      fc.property(anyLink, width, anyFlow('read'), each, each, (any, lanes, flow, a, b) => {
        if (any.generation === 6) return;
        const end = { ...receiver, packetsPerAck: a, packetsPerUpdate: b };
        const config = { ...any, width: lanes, rootSide: end, moduleSide: end };
        const network = networkOf([config], [{ flow, reads: { window: 256, latency: 3000 } }]);
        const closed = evaluate(network, []);
        const { fills, infos } = closed.resources;
        const times = fills
          .map(({ use, capacity }) => (Number(use[0]!) * Number(capacity.d)) / Number(capacity.n))
          .sort((x, y) => y - x);
        if (infos[closed.rates[0]!.stoppedBy]!.kind !== 'wire' || times[1]! > 0.8 * times[0]!)
          return;
        if (closed.demands[0]![0]!.linkGaps.down > 0) wide++;
        const { interval } = pcie.compensation(config);
        const all = Number(closed.rates[0]!.rate.n) / Number(closed.rates[0]!.rate.d);
        const cycle = closed.demands[0]![0]!.bytes * all;
        const window = Math.ceil((400 * grain(config, flow)) / cycle / interval) * interval;
        const result = simulateNetwork(network, {
          seed: 1,
          warmUp: 20 * interval + window,
          window,
        });
        const slack = 4 * grain(config, flow) + flow.transferBytes! / 2;
        const share = 0.002 * result.streams[0]!.bytes;
        expect(Math.abs(missing(network, result))).toBeLessThanOrEqual(slack + share);
      }),
      { numRuns: 60 },
    );
    expect(wide).toBeGreaterThan(3);
  });

  it('cost a fill for each that follows another, and none at eight lanes or fewer', () => {
    const flow = { kind: 'read', transferBytes: 128, requestBytes: 64 } as const;
    const gaps = (width: 1 | 4 | 8 | 16, packetsPerUpdate: number) => {
      const end = { ...receiver, packetsPerUpdate };
      const config = link({ width, rootSide: end, moduleSide: end });
      const network = networkOf([config], [{ flow }]);
      return { gaps: evaluate(network, []).demands[0]![0]!.linkGaps, config };
    };
    // Two requests and two completions: an Ack and an update for each request, beside a completion each.
    const { gaps: wide, config } = gaps(16, 1);
    expect(wide).toEqual({ up: 0, down: 2 * fillTicks(packetTicks(ack, config), config) });
    expect(gaps(16, 2).gaps.down).toBe(wide.down / 2);
    for (const width of [1, 4, 8] as const) expect(gaps(width, 1).gaps).toEqual({ up: 0, down: 0 });
  });

  it('count where no stream has a packet to put between, and ledgers balance either way', () => {
    const end = { ...receiver, packetsPerUpdate: 1 };
    const config = link({ width: 16, rootSide: end, moduleSide: end });
    const flow = { kind: 'read', transferBytes: 64, requestBytes: 64 } as const;
    const padding = (streams: Parameters<typeof networkOf>[1]) => {
      const ledgers = ledgersOf(evaluate(networkOf([config], streams), []));
      for (const { total, ledger } of ledgers) expect(ledgerSum(ledger)).toBe(BigInt(total));
      const row = ledgers[1]!.ledger.find(({ account }) => account === 'padding');
      return row ? Number(row.ticks) / Number(ledgers[1]!.total) : 0;
    };
    const reads = { flow, reads: { window: 256, latency: 3000 } };
    expect(padding([reads])).toBeCloseTo((8 / 108) * (1 - 64 / 24_608), 4);
    expect(padding([reads, reads])).toBeCloseTo(padding([reads]), 9);
    // Stores of a processor go down between the reads' Acks.
    const stores = { flow: { kind: 'write' }, crossings: [{ hop: 0, flipped: true }] } as const;
    expect(padding([reads, stores])).toBe(0);
  });
});
