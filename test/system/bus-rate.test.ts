/** Rates of a parallel bus through the ordinary case entry. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BusSimulation } from '../../src/links/pci/index.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { evaluateBus, rateBus, segmentOf } from '../../src/system/bus/index.ts';
import { busAnswer, planOf } from './bus-cases.ts';

const MB = 1e6;

function rateAt(words: Parameters<typeof planOf>[0]): number {
  const plan = planOf(words);
  return toNumber(evaluateBus(plan, plan.parameters.expected()).rates[0]!);
}

/** A conventional bus on which nothing is late and GNT# stays. */
const quiet = (decode: string, mode = 'PCI 33', width = 32) => ({
  segment:
    `limit: ${mode}, width: ${width}, arbiter: { parking: last, grant_clocks: 2 }, ` +
    `target: { decode: ${decode}, write_latency: 0, reads: immediate, read_latency: 0 }`,
});

describe('clocks that follow from the rules', () => {
  /**
   * Efficiency N / (N + a) of writes with fast, medium and slow decode, a = 2, 3, 4: address phase,
   * decode, N data phases and one idle clock (structure of LOCAL 3.3, arithmetic; the medium write of
   * four data phases in seven clocks is published with a waveform).
   */
  const efficiency = [
    [1, 33.3, 25.0, 20.0],
    [4, 66.7, 57.1, 50.0],
    [8, 80.0, 72.7, 66.7],
    [16, 88.9, 84.2, 80.0],
    [32, 94.1, 91.4, 88.9],
    [64, 97.0, 95.5, 94.1],
    [512, 99.6, 99.4, 99.2],
  ] as const;

  test.each(efficiency)('%i data phases of a write', (n, fast, medium, slow) => {
    const card = `mode: PCI 33, width: 32, burst: ${4 * n} B, keeps_request: true, latency_timer: 255`;
    for (const [decode, percent] of [
      ['fast', fast],
      ['medium', medium],
      ['slow', slow],
    ] as const) {
      const share = rateAt({ card, ...quiet(decode) }) / (4 / 30e-9);
      expect(100 * share).toBeCloseTo(percent, 1);
    }
  });

  /** PCI-X 133, 64 bits, N + 4, 5, 6 clocks a burst with decode A, B, C: arithmetic, structure recalled. */
  const pcix = [
    [64, 711.1, 656.4, 609.5],
    [256, 948.1, 922.5, 898.2],
    [512, 1003.9, 989.4, 975.2],
    [4096, 1058.4, 1056.4, 1054.3],
  ] as const;

  test.each(pcix)('PCI-X bursts of %i bytes', (burst, a, b, c) => {
    const card = `mode: PCI-X 133, width: 64, burst: ${burst} B, keeps_request: true, latency_timer: 255`;
    for (const [decode, rate] of [
      ['A', a],
      ['B', b],
      ['C', c],
    ] as const) {
      expect(rateAt({ card, ...quiet(decode, 'PCI-X 133', 64) }) / MB).toBeCloseTo(rate, 1);
    }
  });

  test('64 bits at 133 MHz have a ceiling just below 1.067 GB/s, the published peak', () => {
    const { rate } = busAnswer({});
    const { ceiling } = rate!.streams[0]!;
    expect(ceiling).toBeLessThan(1066.7 * MB);
    expect(ceiling).toBeGreaterThan(0.99 * 1066.7 * MB);
  });

  /** PCI Local Bus Specification 2.1 to 3.0, "Latency for Different Burst Length Transfers": from memory. */
  test.each([
    [8, 16],
    [16, 24],
    [32, 40],
    [64, 72],
  ])('%i data phases with the first at clock 8 take %i clocks', (n, clocks) => {
    const card = `mode: PCI 33, width: 32, burst: ${4 * n} B, keeps_request: true, latency_timer: 255`;
    const segment =
      'limit: PCI 33, width: 32, target: { decode: fast, write_latency: 6, reads: immediate }';
    expect(rateAt({ card, segment })).toBeCloseTo((4 * n) / (clocks * 30e-9), 0);
  });
});

describe('measured hosts', () => {
  /**
   * Myricom, "Bus Performance of Myrinet-2000/PCI-X NICs": 4096-byte bursts on 64 bits. Overhead clocks
   * are 512 × peak / rate − 512 of the page's rates; a case that states them gives the rates back.
   */
  test.each([
    ['PCI-X 133', 17, 1032],
    ['PCI-X 133', 11, 1044],
    ['PCI-X 100', 10, 784],
    ['PCI-X 133', 65, 946],
  ] as const)('%s with %i clocks beside the data writes %i MB/s', (limit, overhead, rate) => {
    const card = `mode: PCI-X 133, width: 64, burst: 4 KiB, overhead: ${overhead}, latency_timer: 255`;
    const segment = `limit: ${limit}, width: 64, early_end: 0, target: { decode: A }`;
    expect(Math.abs(rateAt({ card, segment }) / MB / rate - 1)).toBeLessThan(0.003);
  });

  /** The same page's best hosts, from structure and wait states alone: docs/parallel-bus.md. */
  test('the best hosts lie within the range of a case that knows only its card', () => {
    const card = 'mode: PCI-X 133, width: 64, burst: 4 KiB, request_after: 3, latency_timer: 255';
    const { rate } = busAnswer({ card, segment: 'limit: PCI-X 133, width: 64' });
    const { sustained, ceiling } = rate!.streams[0]!;
    for (const measured of [947, 989, 1032, 1036, 1038, 1044]) {
      // Waits fitted to the slowest are 56 clocks of an even number: half a per cent either way.
      expect(measured * MB).toBeGreaterThanOrEqual(sustained.low * 0.995);
      expect(measured * MB).toBeLessThanOrEqual(sustained.high * 1.005);
      expect(measured * MB).toBeLessThan(ceiling);
    }
  });
});

describe('the ledger of a bus', () => {
  test('sums to its window, and its payload is the rate', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(64, 128, 512, 4096),
        fc.constantFrom('PCI 33', 'PCI 66', 'PCI-X 66', 'PCI-X 100', 'PCI-X 133'),
        fc.integer({ min: 0, max: 12 }),
        fc.integer({ min: 1, max: 12 }),
        (burst, limit, late, after) => {
          const plan = planOf({
            card: `mode: PCI-X 133, width: 64, burst: ${burst} B, request_after: ${after}`,
            segment: `limit: ${limit}, width: 64, target: { write_latency: ${late} }`,
          });
          const { links, streams } = rateBus(plan);
          const [bus] = links;
          expect(ledgerSum(bus!.ledger)).toBe(BigInt(bus!.total));
          const payload = bus!.ledger.find((row) => row.account === 'payload')!;
          const peak = 8 / bus!.tickSeconds;
          expect(payload.share * peak).toBeCloseTo(streams[0]!.sustained.expected, -1);
          expect(streams[0]!.sustained.high).toBeLessThanOrEqual(streams[0]!.ceiling * (1 + 1e-9));
        },
      ),
      { numRuns: 25 },
    );
  });

  test('is the simulation clock for clock for one stream', () => {
    const plan = planOf({
      card: 'mode: PCI-X 133, width: 64, burst: 256 B, request_after: 7',
      segment: 'limit: PCI-X 100, width: 64, target: { decode: B, write_latency: 5 }',
      streams: '- { name: data, direction: to host, rate: 1 MB/s, transfer: { size: 64 KiB } }',
    });
    const at = plan.at(plan.parameters.expected());
    const { clocks, bytes } = evaluateBus(plan, plan.parameters.expected()).alone[0]!;
    const simulation = new BusSimulation(segmentOf(plan, at).config);
    simulation.run(clocks);
    const before = simulation.masters[0]!.counts.bytes;
    simulation.run(10 * clocks);
    expect(simulation.masters[0]!.counts.bytes - before).toBe(10 * bytes);
  });
});

describe('what sets the clock and width', () => {
  test('the slowest card, loading, and a missing Pn3', () => {
    const at = (segment: string, p13 = true) => planOf({ segment, p13 }).up;
    const open = 'limit: PCI-X 133, width: 64';
    expect(at(open).mode).toBe('PCI-X 133');
    expect(at(`${open}, devices: [{ name: old, mode: PCI 33, width: 32 }]`).mode).toBe('PCI 33');
    const loaded = `${open}, limit_when_shared: PCI-X 100, devices: [{ name: x, mode: PCI-X 133, width: 64 }]`;
    expect(at(loaded)).toMatchObject({ mode: 'PCI-X 100', limitBy: 'loading' });
    expect(at(open, false).moduleBits).toBe(32);
  });
});
