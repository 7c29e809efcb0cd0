/** Replay buffers in whole networks: nothing changes where nothing is hit, periods, losses to errors. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mostPacketsPerAck, type PcieConfig, pcie } from '../../src/links/pcie/index.ts';
import { toNumber } from '../../src/quantity/index.ts';
import type { PcieGeneration } from '../../src/standards/pcie-link.ts';
import { replaySymbolTimes } from '../../src/standards/pcie-replay.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { type SimulationResult, simulateNetwork } from '../../src/system/simulate/index.ts';
import { anyLink, closedRate } from './agreement.ts';
import { link, networkOf, receiver } from './networks.ts';

/** What a run shows: not how it was come by, nor the state that a buffer adds to. */
function shown({ streams, links, window, queues, period }: SimulationResult) {
  return { streams, links, window, queues, period: period?.ticks };
}

describe('a link on which nothing is hit', () => {
  it('is the same to the tick with the standard replay buffer and timers as without', () => {
    let compared = 0;
    fc.assert(
      fc.property(anyLink, fc.boolean(), (config, two) => {
        if (config.generation === 6) return;
        // An Ack that the count lets come later than its timer would come by that.
        const bytes = config.completionPayload + 12;
        const most = mostPacketsPerAck(config, Math.max(bytes, config.maxPayload + 28));
        if (config.rootSide.packetsPerAck > most) return;
        compared++;
        const streams = two ? [{}, { flow: { transferBytes: 512 } }] : [{}];
        const run = (over: Partial<PcieConfig>) =>
          shown(
            simulateNetwork(networkOf([{ ...config, ...over }], streams), { seed: 1, skip: true }),
          );
        expect(run({ replay: {} })).toEqual(run({}));
      }),
      { numRuns: 20 },
    );
    expect(compared).toBeGreaterThan(4);
  });

  it('never waits for room in the standard buffer, however late Acks come on a full wire', () => {
    const lone = fc.constantFrom<PcieGeneration>(1, 2, 3, 4, 5);
    fc.assert(
      fc.property(anyLink, lone, (any, generation) => {
        // Acks wait for their timer, behind completions of the longest payload and credit updates.
        const end = { ...receiver, packetsPerAck: 1000, packetsPerUpdate: 1 };
        const maxPayload = any.maxPayload;
        const ends = { rootSide: end, moduleSide: end, completionPayload: maxPayload };
        const base = { ...any, generation, ...ends, skpInterval: generation <= 2 ? 1180 : 370 };
        const reads = { window: 64, latency: 0 };
        const streams = [{}, { flow: { kind: 'read' } as const, reads }];
        const bytes = (replay: PcieConfig['replay']) =>
          simulateNetwork(networkOf([{ ...base, ...(replay ? { replay } : {}) }], streams), {
            seed: 1,
            warmUp: 1e6,
            window: 3e6,
          }).streams.map((stream) => stream.bytes);
        expect(bytes({})).toEqual(bytes({ bytes: 1e9 }));
      }),
      { numRuns: 20 },
    );
  });

  it('recurs with a buffer that fills, and whole periods of it are left out exactly', () => {
    for (const packets of [1, 3, 6]) {
      const end = { ...receiver, packetsPerAck: 2 };
      const config = link({ rootSide: end, moduleSide: end, replay: { packets } });
      const network = networkOf([config], [{}]);
      const found = simulateNetwork(network, { seed: 1, skip: true, window: 1 });
      const { interval } = pcie.compensation(config);
      const window = 6 * found.period!.ticks + interval;
      const left = simulateNetwork(network, { seed: 1, skip: true, window });
      const whole = simulateNetwork(network, { seed: 1, warmUp: found.window.warmUp, window });
      expect(left.period!.skipped).toBeGreaterThan(0);
      expect({ ...shown(left), period: 0 }).toEqual({ ...shown(whole), period: 0 });
      expect(left.stateHash).toBe(whole.stateHash);
    }
  });

  it('is held up by a buffer that is too small, at the cost of acknowledgements', () => {
    const share = (packets: number) =>
      simulateNetwork(networkOf([link({ replay: { packets } })], [{}]), {
        seed: 1,
      }).links[0]!.ledger.find(({ account }) => account === 'acknowledgements')?.share ?? 0;
    // 148 B a packet, then 8 B of its Ack before the next; sets of clock compensation beside.
    expect(share(1) / (8 / 156)).toBeCloseTo(1, 1);
    expect(share(2)).toBe(0);
  });
});

describe('bit errors', () => {
  const cases: readonly PcieGeneration[] = [1, 2, 3, 4, 5];
  const sixteenFlits = 16 * 236 * 128;

  it.each(cases)('cost generation %i what the closed form expects, within four deviations', (g) => {
    const end = { ...receiver, packetsPerAck: 2 };
    const base = link({ generation: g, width: 8, maxPayload: 256, rootSide: end, moduleSide: end });
    const { expected } = replaySymbolTimes({ generation: g, width: 8, maxPayload: 256 });
    const symbolTime = g <= 2 ? 80 : 520;
    const replayTicks = Math.round(expected * symbolTime);
    const errorsPerExabit = 5e11;
    const config = { ...base, errorsPerExabit, replayTicks };
    const free = toNumber(closedRate(networkOf([base], [{}])));
    const network = networkOf([config], [{}]);
    const closed = toNumber(bytesPerSecond(evaluate(network, []))[0]!);
    const mean = (1e18 / errorsPerExabit) * (g <= 2 ? 1 : 8);
    const found = simulateNetwork(network, { seed: 11, window: 300 * mean });
    const lost = free - closed;
    const rate = toNumber(found.streams[0]!.rate);
    // 300 errors vary by 17; a replay begins behind a packet, so its time is off by half of one.
    const half = Math.ceil(284 / 8) / 2 / expected;
    expect(Math.abs(rate - closed)).toBeLessThan((4 / Math.sqrt(300) + half) * lost);
    expect(lost / free).toBeGreaterThan(0.002);
    const replay = found.links[0]!.ledger.find(({ account }) => account === 'replay')!;
    expect(replay.share).toBeGreaterThan(0.002);
    const [up, down] = found.replays;
    expect(up!.direction).toBe('up');
    // Errors hit what is useful and what is sent in vain; a few hit Acks on the other wire.
    expect(up!.errors).toBeGreaterThan(200);
    expect(up!.naks + up!.timeouts).toBeGreaterThan(0.8 * up!.errors);
    expect(down).toMatchObject({ errors: 0, naks: 0, timeouts: 0, discarded: 0 });
  });

  it('cost flits what the closed form expects, within four deviations', () => {
    const base = link({ generation: 6, width: 16, maxPayload: 256, skpInterval: 748 });
    const errorsPerExabit = 1e12;
    const config = { ...base, errorsPerExabit, replayTicks: sixteenFlits };
    const free = toNumber(closedRate(networkOf([base], [{}])));
    const network = networkOf([config], [{}]);
    const closed = toNumber(bytesPerSecond(evaluate(network, []))[0]!);
    const mean = (1e18 / errorsPerExabit) * (118 / 8);
    const found = simulateNetwork(network, { seed: 4, window: 200 * mean });
    const lost = free - closed;
    expect(lost / free).toBeGreaterThan(0.02);
    const rate = toNumber(found.streams[0]!.rate);
    expect(Math.abs(rate - closed)).toBeLessThan((4 / Math.sqrt(200)) * lost);
    expect(found.replays[0]!.naks).toBeGreaterThan(100);
  });

  it('let no transfer be lost: what is asked for arrives, late', () => {
    const config = link({ errorsPerExabit: 2e13, replayTicks: 20_000 });
    const reads = { window: 4, latency: 9000 };
    const flow = { kind: 'read', transferBytes: 2048 } as const;
    const result = simulateNetwork(networkOf([config, config], [{}, { flow, reads }]), {
      seed: 2,
      window: 5e7,
    });
    for (const { bytes, latency } of result.streams) {
      expect(bytes).toBeGreaterThan(0);
      expect(latency.most).toBeGreaterThan(20_000);
    }
  });
});
