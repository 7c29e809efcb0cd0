/** Several hops and several streams: simulation against closed form, as docs/simulator.md bounds them. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ledgerSum } from '../../src/model/ledger.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import type { Network } from '../../src/system/network.ts';
import { bytesPerSecond, ceilingOf } from '../../src/system/rate.ts';
import { type SimulationResult, simulateNetwork } from '../../src/system/simulate/index.ts';
import { anyFlow, anyLink, grain, windows } from './agreement.ts';
import { link, networkOf, receiver, type StreamSpec } from './networks.ts';

/** Bytes that each stream has more than the closed form says. */
function more(network: Network, result: SimulationResult): number[] {
  const seconds = result.window.ticks * toNumber(network.tick);
  return bytesPerSecond(evaluate(network, [])).map(
    (rate, s) => result.streams[s]!.bytes - toNumber(rate) * seconds,
  );
}

describe('two hops', () => {
  it('pass writes at the rate of the slower, stored or cut through, within two packets', () => {
    fc.assert(
      fc.property(
        anyLink,
        anyLink,
        anyFlow('write'),
        fc.constantFrom(0, 0, 300, 9000),
        fc.boolean(),
        (first, other, flow, perPacket, stored) => {
          const second = { ...other, maxPayload: first.maxPayload };
          // Enough credits for the slower hop, and a queue that does not grow without end.
          const credits = { postedHeaders: 32, postedData: 32 * 32, creditReturnTicks: 0 };
          const hop = { ...first, rootSide: { ...first.rootSide, ...credits } };
          const spec = { flow, pauses: { perPacket }, stored };
          const { warmUp, window } = windows(second, 300, spec);
          const network = networkOf([hop, second], [spec]);
          const scale = Number(network.hops[1]!.scale);
          const times = { warmUp: 3 * warmUp * scale, window: window * scale };
          const result = simulateNetwork(network, { seed: 1, ...times });
          const [difference] = more(network, result);
          // The window holds whole intervals of the first hop; of the second one set more or less.
          const { lost } = network.hops[1]!.fabric.compensation(second);
          const set =
            toNumber(bytesPerSecond(evaluate(network, []))[0]!) *
            lost *
            toNumber(network.hops[1]!.tick);
          expect(Math.abs(difference!)).toBeLessThanOrEqual(2 * grain(first, flow) + set);
          expect(result.queues[0]!.most).toBeLessThanOrEqual(32);
        },
      ),
      { numRuns: 120 },
    );
  });
});

describe('other ways', () => {
  const anyRing = fc.record({
    bytes: fc.constantFrom(16, 32),
    covers: fc.constantFrom(512, 4096),
    fetchBatch: fc.constantFrom(1, 4),
    writeBackBytes: fc.constantFrom(0, 16),
    writeBackBatch: fc.constantFrom(1, 3),
  });
  const ways = {
    descriptors: [{ hop: 0 }],
    processor: [
      { hop: 1, flipped: true },
      { hop: 0, flipped: true },
    ],
    peer: [{ hop: 0 }, { hop: 1, flipped: true }],
    redirected: [{ hop: 0 }, { hop: 1 }, { hop: 1, flipped: true }, { hop: 0, flipped: true }],
  } as const;

  it.each(Object.keys(ways) as (keyof typeof ways)[])('%s: a full wire stays full', (way) => {
    const anyStream = fc.boolean().chain((read) => anyFlow(read ? 'read' : 'write'));
    const credits = {
      postedHeaders: 64,
      postedData: 64 * 32,
      nonpostedHeaders: 64,
      completionHeaders: 64,
      completionData: 64 * 32,
      packetsPerAck: 4,
      packetsPerUpdate: 4,
    };
    const end = { ...receiver, ...credits };
    let full = 0;
    fc.assert(
      fc.property(anyLink, anyLink, anyStream, anyRing, fc.nat(2), (a, b, shape, ring, each) => {
        const sides = { rootSide: end, moduleSide: end };
        const first = { ...a, ...sides };
        const { maxPayload, completionPayload } = first;
        const second = { ...b, ...sides, maxPayload, completionPayload };
        const steering = way === 'descriptors' ? { descriptors: ring } : {};
        const flow = { ...shape, ...steering, transfersPerInterrupt: each };
        const reads = { window: 64, latency: 5000 };
        const spec: StreamSpec = { flow, reads, crossings: ways[way] };
        const network = networkOf(way === 'descriptors' ? [first] : [first, second], [spec]);
        const closed = evaluate(network, []);
        const { fills, infos } = closed.resources;
        const cycle = fills.map(({ use, capacity }) => {
          return (Number(use[0]!) * Number(capacity.d)) / Number(capacity.n);
        });
        const { stoppedBy } = closed.rates[0]!;
        const others = cycle.filter((_, i) => infos[i]!.kind !== 'wire');
        if (infos[stoppedBy]!.kind !== 'wire' || Math.max(0, ...others) > 0.5 * cycle[stoppedBy]!) {
          return;
        }
        full++;
        const all = toNumber(bytesPerSecond(closed)[0]!) * toNumber(network.tick);
        const window = Math.ceil((1000 * grain(first, flow)) / all);
        const result = simulateNetwork(network, { seed: 1, warmUp: 4 * window, window });
        const [difference] = more(network, result);
        // A stream that fills both wires of a hop at once leaves each idle at times.
        const both = way === 'redirected' ? 20 : 0;
        const whole = (4 + both) * grain(first, flow) + flow.transferBytes! / 2;
        expect(Math.abs(difference!)).toBeLessThanOrEqual(whole);
      }),
      { numRuns: 40 },
    );
    expect(full).toBeGreaterThan(5);
  });
});

describe('descriptors', () => {
  it('fetched by several requests are answered request by request', () => {
    // 128 B of descriptors by requests of 64 B: two completions of 64 B each, not one of 128 B.
    const end = { ...receiver, packetsPerAck: 4, packetsPerUpdate: 4 };
    const ring = { bytes: 32, covers: 512, fetchBatch: 4, writeBackBytes: 0, writeBackBatch: 1 };
    const flow = { kind: 'read', transferBytes: 64, requestBytes: 64, descriptors: ring } as const;
    const config = link({ width: 1, rootSide: end, moduleSide: end });
    const network = networkOf([config], [{ flow, reads: { window: 64, latency: 5000 } }]);
    const result = simulateNetwork(network, { seed: 1 });
    expect(Math.abs(more(network, result)[0]!)).toBeLessThanOrEqual(2 * 64);
  });
});

const anyWrites = fc.array(
  fc.tuple(anyFlow('write'), fc.integer({ min: 1, max: 9 }), fc.boolean()),
  { minLength: 2, maxLength: 4 },
);

describe('several streams', () => {
  it('share a full wire in proportion to their needs', () => {
    fc.assert(
      fc.property(anyLink, anyWrites, (config, list) => {
        const specs: StreamSpec[] = list.map(([flow, wanted, shared], s) => ({
          flow,
          wanted: BigInt(wanted),
          engine: shared ? 'one engine' : `engine ${s}`,
        }));
        const network = networkOf([config], specs);
        const { interval } = network.hops[0]!.fabric.compensation(config);
        const window = 40 * interval;
        const result = simulateNetwork(network, { seed: 1, warmUp: 4 * interval, window });
        const rates = bytesPerSecond(evaluate(network, []));
        const all = rates.reduce((sum, rate) => sum + toNumber(rate), 0);
        more(network, result).forEach((difference, s) => {
          // A packet of its own, and its part of a packet of each of the others.
          const share = toNumber(rates[s]!) / all;
          const others = list.reduce((sum, [flow]) => sum + grain(config, flow), 0);
          const most = 2 * grain(config, list[s]![0]) + 2 * share * others;
          expect(Math.abs(difference)).toBeLessThanOrEqual(most);
        });
      }),
      { numRuns: 150 },
    );
  });

  it('write and read at once at the rates of the closed form, but for link packets', () => {
    const each = fc.integer({ min: 1, max: 9 });
    // Beside the shortest packets, link packets weigh more.
    const longer = (kind: 'write' | 'read') =>
      anyFlow(kind).filter(({ transferBytes }) => transferBytes! >= 512);
    fc.assert(
      fc.property(anyLink, longer('write'), longer('read'), each, each, (any, up, down, a, b) => {
        const end = { ...receiver, packetsPerAck: 4, packetsPerUpdate: 4 };
        // A x16 link is filled between two link packets.
        const width = any.width === 16 ? 8 : any.width;
        const calm = { ...any, width, rootSide: end, moduleSide: end };
        // In flits the spacing of sets goes with the width.
        const config = { ...calm, skpInterval: any.generation === 6 ? 374 : any.skpInterval };
        const reads = { window: 128, latency: 20_000 };
        const specs = [
          { flow: up, wanted: BigInt(a) },
          { flow: down, wanted: BigInt(b), reads },
        ];
        const network = networkOf([config], specs);
        const { interval } = network.hops[0]!.fabric.compensation(config);
        const window = Math.max(40 * interval, 8e6);
        const result = simulateNetwork(network, { seed: 1, warmUp: window, window });
        more(network, result).forEach((difference, s) => {
          const slack = 8 * grain(config, specs[s]!.flow) + specs[s]!.flow.transferBytes!;
          const most = 0.05 * result.streams[s]!.bytes + slack;
          expect(Math.abs(difference)).toBeLessThanOrEqual(most);
        });
      }),
      { numRuns: 80 },
    );
  });

  it('balance every ledger and stay below every ceiling, whatever they are', () => {
    const stream = fc.tuple(
      fc.boolean().chain((read) => anyFlow(read ? 'read' : 'write')),
      fc.constantFrom(0, 300, 5000),
      fc.integer({ min: 1, max: 9 }),
      fc.boolean(),
    );
    fc.assert(
      fc.property(
        anyLink,
        fc.array(stream, { minLength: 1, maxLength: 3 }),
        fc.boolean(),
        fc.boolean(),
        (config, list, weighted, random) => {
          const specs = list.map(([flow, perPacket, wanted, own], s) => ({
            flow,
            pauses: { perPacket },
            wanted: BigInt(wanted),
            engine: own ? `engine ${s}` : `engine ${flow.kind}`,
            reads: { window: 1 + wanted, latency: 20_000 },
          }));
          const network = networkOf([config], specs);
          const { interval } = network.hops[0]!.fabric.compensation(config);
          const result = simulateNetwork(network, {
            seed: 7,
            warmUp: 2 * interval + 1,
            window: 10 * interval,
            arbitration: weighted ? 'weighted' : 'round robin',
            readDelay: random ? 'exponential' : 'fixed',
          });
          for (const { total, ledger } of result.links) {
            expect(ledgerSum(ledger)).toBe(BigInt(total));
          }
          const seconds = result.window.ticks * toNumber(network.tick);
          result.streams.forEach(({ bytes }, s) => {
            const slack = 20 * grain(config, list[s]![0]);
            expect(bytes).toBeLessThanOrEqual(ceilingOf(network, s) * seconds + slack);
          });
        },
      ),
      { numRuns: 120 },
    );
  });
});
