/** What a simulation is as a run: the same from the same seed, whole in its ledgers, exact in skipping. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { accountIndex } from '../../src/model/accounts.ts';
import type { HopLedger } from '../../src/model/answer.ts';
import { rational, toNumber } from '../../src/quantity/index.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { ledgersOf } from '../../src/system/ledgers.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { type SimulationResult, simulateNetwork } from '../../src/system/simulate/index.ts';
import { World } from '../../src/system/simulate/world.ts';
import { anyFlow, anyLink } from './agreement.ts';
import { link, networkOf, receiver } from './networks.ts';

/** Everything that does not tell how the result was come by. */
function outcome({ dispatched, period, ...rest }: SimulationResult) {
  return rest;
}

describe('leaving out whole periods', () => {
  it('gives the result of the whole run, ledgers, latencies and final state included', () => {
    let skipping = 0;
    const shape = fc.constantFrom(
      { transferBytes: 4096 },
      { transferBytes: 1000, startOffset: 100 },
      { kind: 'read' as const, transferBytes: 2048 },
    );
    const gap = fc.constantFrom(0, 100, 1000, 9000);
    fc.assert(
      fc.property(anyLink, shape, gap, fc.boolean(), (config, flow, perPacket, two) => {
        const one = { flow, pauses: { perPacket }, reads: { window: 4, latency: 9000 } };
        const network = networkOf([config], two ? [one, { flow: { transferBytes: 512 } }] : [one]);
        const found = simulateNetwork(network, { seed: 1, skip: true, window: 1 });
        if (!found.period) return;
        const { interval } = network.hops[0]!.fabric.compensation(config);
        const window = 6 * found.period.ticks + interval;
        const { warmUp } = found.window;
        const left = simulateNetwork(network, { seed: 1, skip: true, window });
        const whole = simulateNetwork(network, { seed: 1, warmUp, window });
        if (left.period!.skipped > 0) skipping++;
        expect(left.dispatched).toBeLessThan(whole.dispatched);
        expect(outcome(left)).toEqual(outcome(whole));
      }),
      { numRuns: 14 },
    );
    expect(skipping).toBeGreaterThan(0);
  });
});

describe('ledgers', () => {
  const sum = (ledger: HopLedger, ids: readonly string[]) =>
    ledger.ledger.reduce(
      (all, { account, ticks }) => (ids.includes(account) ? all + BigInt(ticks) : all),
      0n,
    );

  it('are those of the closed form, tick for tick, where one engine sends writes', () => {
    let compared = 0;
    const bytes = fc.constantFrom(128, 512, 4096);
    fc.assert(
      fc.property(
        anyLink,
        bytes,
        fc.constantFrom(0, 1000, 20_000),
        (config, transferBytes, extra) => {
          const { lost } = networkOf([config], []).hops[0]!.fabric.compensation(config);
          const perPacket = extra === 0 ? 0 : lost + extra;
          const network = networkOf([config], [{ flow: { transferBytes }, pauses: { perPacket } }]);
          const result = simulateNetwork(network, { seed: 1, skip: true });
          if (!result.period || result.window.chosen !== 'closed form') return;
          compared++;
          ledgersOf(evaluate(network, [])).forEach((closed, i) => {
            const simulated = result.links[i]!;
            const times = BigInt(simulated.total) / BigInt(closed.total);
            expect(BigInt(closed.total) * times).toBe(BigInt(simulated.total));
            const idle = ['padding', 'source_gap', 'idle'];
            const busy = Object.keys(accountIndex).filter((id) => !idle.includes(id));
            for (const ids of [...busy.map((id) => [id]), idle]) {
              expect(sum(simulated, ids)).toBe(sum(closed, ids) * times);
            }
          });
        },
      ),
      { numRuns: 20 },
    );
    expect(compared).toBeGreaterThan(0);
  });

  it('charge a stall to credits, to requests and to the pauses of the engine', () => {
    const held = (account: string, result: SimulationResult, link = 0) =>
      result.links[link]!.ledger.find((row) => row.account === account)?.share ?? 0;
    const rootSide = { ...receiver, postedHeaders: 2, creditReturnTicks: 9000 };
    const credits = simulateNetwork(networkOf([link({ rootSide })], [{}]), { seed: 1 });
    expect(held('credit_stall', credits)).toBeGreaterThan(0.6);
    const gaps = networkOf(
      [link()],
      [{ pauses: { perPacket: 1480, perTransfer: 1480 * 64, powerExit: 1480 * 32 } }],
    );
    const paused = simulateNetwork(gaps, { seed: 1 });
    // 32 packets, 32 pauses as long, a set-up and an exit of 32 packets each.
    for (const account of ['source_gap', 'setup', 'power_exit']) {
      expect(held(account, paused)).toBeCloseTo(0.25, 2);
    }
    const reads = { window: 1, latency: 14_800 };
    const flow = { kind: 'read', requestBytes: 128 } as const;
    const asked = simulateNetwork(networkOf([link()], [{ flow, reads }]), { seed: 1 });
    expect(held('request_stall', asked, 1)).toBeGreaterThan(0.8);
    expect(held('request_stall', asked, 0)).toBe(0);
  });
});

describe('servers beside the links', () => {
  it('hold a stream at their rate to the packet, and share it between streams', () => {
    const limit = (perTransfer: bigint) => ({
      key: 'stage',
      kind: 'stage' as const,
      account: 'idle' as const,
      cause: 'the stage is full',
      perTransfer,
      capacity: { n: 3n, d: 7n },
    });
    fc.assert(
      fc.property(
        anyLink,
        fc.bigInt({ min: 20_000n, max: 200_000n }),
        fc.boolean(),
        (config, per, two) => {
          const spec = { limits: [limit(per)] };
          const network = networkOf([config], two ? [spec, spec] : [spec]);
          const result = simulateNetwork(network, { seed: 1 });
          const seconds = result.window.ticks * toNumber(network.tick);
          bytesPerSecond(evaluate(network, [])).forEach((rate, s) => {
            const difference = result.streams[s]!.bytes - toNumber(rate) * seconds;
            expect(Math.abs(difference)).toBeLessThanOrEqual(6 * config.maxPayload);
          });
        },
      ),
      { numRuns: 30 },
    );
  });

  it('keep a neighbour at its own rate', () => {
    const network = networkOf([link()], [{}, { most: rational(100_000_000), wanted: 1n }]);
    const result = simulateNetwork(network, { seed: 1 });
    expect(toNumber(result.streams[1]!.rate) / 1e8).toBeCloseTo(1, 3);
  });
});

describe('chance', () => {
  it('keeps any period from being left out', () => {
    const errors = networkOf([link({ errorsPerExabit: 1, replayTicks: 100 })], [{}]);
    expect(simulateNetwork(errors, { seed: 1, skip: true, window: 1 }).period).toBeUndefined();
    const steady = networkOf([link()], [{ flow: { transferBytes: 128 } }]);
    expect(simulateNetwork(steady, { seed: 1, skip: true }).period).toBeDefined();
    const varied = { seed: 1, skip: true, window: 1, readDelay: 'exponential' } as const;
    expect(simulateNetwork(steady, varied).period).toBeUndefined();
  });

  const lossy = { errorsPerExabit: 1e12, replayTicks: 30_000 };

  it('repeats itself from a seed and differs between seeds', () => {
    const network = networkOf([link(lossy)], [{}, { flow: { kind: 'read' } }]);
    const run = (seed: number) => simulateNetwork(network, { seed, readDelay: 'exponential' });
    expect(run(3)).toEqual(run(3));
    expect(run(3).stateHash).not.toBe(run(4).stateHash);
  });

  it('loses to bit errors what the closed form expects, within four standard deviations', () => {
    // Errors are a Poisson process: n of them vary by the square root of n.
    for (const generation of [1, 3] as const) {
      const config = link({ generation, ...lossy });
      const network = networkOf([config], [{}]);
      const closed = toNumber(bytesPerSecond(evaluate(network, []))[0]!);
      const ideal = networkOf([link({ generation })], [{}]);
      const free = toNumber(bytesPerSecond(evaluate(ideal, []))[0]!);
      const found = simulateNetwork(network, { seed: 5, window: generation === 1 ? 2e8 : 1.2e9 });
      const replay = found.links[0]!.ledger.find((row) => row.account === 'replay')!;
      const errors = Number(replay.ticks) / lossy.replayTicks;
      expect(errors).toBeGreaterThan(50);
      const lost = free - closed;
      const { rate } = found.streams[0]!;
      expect(Math.abs(toNumber(rate) - closed)).toBeLessThan((4 / Math.sqrt(errors)) * lost);
    }
  });

  it('leaves reads their rate when their delays vary and enough are outstanding', () => {
    const flow = { kind: 'read', requestBytes: 512 } as const;
    const reads = { window: 64, latency: 20_000 };
    const network = networkOf([link()], [{ flow, reads }]);
    const fixed = simulateNetwork(network, { seed: 1 });
    const varied = simulateNetwork(network, { seed: 1, readDelay: 'exponential' });
    const ratio = toNumber(varied.streams[0]!.rate) / toNumber(fixed.streams[0]!.rate);
    expect(ratio).toBeGreaterThan(0.98);
    expect(ratio).toBeLessThanOrEqual(1.001);
    expect(varied.streams[0]!.latency.p99).toBeGreaterThan(fixed.streams[0]!.latency.p50);
  });
});

describe('high-water marks', () => {
  it('count credits out at once, packets not acknowledged, packets in a queue', () => {
    const rootSide = { ...receiver, postedHeaders: 5, postedData: 64, creditReturnTicks: 90_000 };
    const result = simulateNetwork(networkOf([link({ rootSide }), link({ width: 1 })], [{}]), {
      seed: 1,
    });
    expect(result.peaks[0]!.credits).toEqual([
      { credit: 'posted', channel: 0, headers: 5, units: 40 },
    ]);
    expect(result.peaks[0]!.unacknowledged).toBeGreaterThan(0);
    expect(result.queues[0]!.most).toBeGreaterThan(0);
    expect(result.queues[0]!.most).toBeLessThanOrEqual(5);
  });

  it('place percentiles in order', () => {
    fc.assert(
      fc.property(anyLink, anyFlow('read'), (config, flow) => {
        const { interval } = networkOf([config], []).hops[0]!.fabric.compensation(config);
        const times = { warmUp: interval, window: 5 * interval };
        const result = simulateNetwork(networkOf([config], [{ flow }]), { seed: 1, ...times });
        const { p50, p99, p999, most, count } = result.streams[0]!.latency;
        if (count === 0) return;
        expect(p50).toBeGreaterThan(0);
        expect([p50, p99, p999, most]).toEqual([p50, p99, p999, most].sort((a, b) => a - b));
      }),
      { numRuns: 50 },
    );
  });
});

describe('checkpoints', () => {
  it('bring a network back to the same state, from which it goes on alike', () => {
    const reads = { window: 4, latency: 9000 };
    const flow = { kind: 'read' } as const;
    const config = link({ errorsPerExabit: 1e12, replayTicks: 500 });
    const network = networkOf([config, link({ width: 2 })], [{}, { flow, reads }]);
    const options = {
      seed: 3,
      corner: [],
      arbitration: 'weighted',
      readDelay: 'exponential',
    } as const;
    const first = new World(network, options);
    first.kernel.runUntil(1_234_567);
    const saved = first.kernel.checkpoint();
    first.kernel.runUntil(9_876_543);
    const second = new World(network, options);
    second.kernel.restore(saved);
    second.kernel.runUntil(9_876_543);
    expect(second.kernel.hash()).toBe(first.kernel.hash());
    expect(second.delivered).toEqual(first.delivered);
  });
});
