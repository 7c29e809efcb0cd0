/** A bus with several devices, behind a bridge, and its interrupts: through the ordinary case entry. */
import { describe, expect, test } from 'vitest';
import { BusSimulation } from '../../src/links/pci/index.ts';
import { ledgerSum } from '../../src/model/ledger.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { evaluateBus, rateBus, segmentOf, simulatedCorner } from '../../src/system/bus/index.ts';
import { busAnswer, planOf } from './bus-cases.ts';

const target = 'decode: medium, write_latency: 0, reads: immediate, read_latency: 0';
const card = 'mode: PCI 66, width: 32, burst: 256 B, request_after: 1, latency_timer: 255';
const other = (more: string) =>
  `{ name: other, mode: PCI 66, width: 32, burst: 256 B, latency_timer: 255, ${more} }`;
const segment = (devices: string, arbiter = 'rule: rotating') =>
  `limit: PCI 66, width: 32, arbiter: { ${arbiter}, grant_clocks: 2 }, target: { ${target} }, devices: [${devices}]`;

describe('several devices on a segment', () => {
  test('two that ask alike for all there is get half each, to the simulation within a burst', () => {
    const plan = planOf({ card, segment: segment(other('rate: 1 GB/s')) });
    const corner = plan.parameters.expected();
    const closed = evaluateBus(plan, corner);
    const [mine, theirs] = [closed.rates[0]!, closed.others[0]!.rate].map(toNumber);
    expect(mine! / theirs!).toBeCloseTo(1, 1);
    const simulation = new BusSimulation(segmentOf(plan, plan.at(simulatedCorner(plan))).config);
    simulation.run(200_000);
    const seconds = 200_000 * 15e-9;
    const got = simulation.masters.map((m) => m.counts.bytes / seconds);
    expect(Math.abs(got[0]! / mine! - 1)).toBeLessThan(0.02);
    expect(Math.abs(got[1]! / theirs! - 1)).toBeLessThan(0.02);
  });

  test('one that asks for little gets it, and the module the rest', () => {
    const alone = rateBus(planOf({ card, segment: segment('') })).streams[0]!.sustained.expected;
    const { streams, links } = rateBus(planOf({ card, segment: segment(other('rate: 20 MB/s')) }));
    const shared = streams[0]!.sustained.expected;
    expect(alone - shared).toBeGreaterThan(15e6);
    expect(alone - shared).toBeLessThan(30e6);
    expect(ledgerSum(links[0]!.ledger)).toBe(BigInt(links[0]!.total));
    expect(links[0]!.ledger.some((row) => row.stream === 'other')).toBe(true);
  });

  test('a device of higher priority that takes all starves the module, and one of lower starves by it', () => {
    const above = segment(other('rate: 1 GB/s, priority: above the module'), 'rule: fixed');
    const starved = busAnswer({ card, segment: above });
    expect(starved.verdict.keepsUp).toBe('stop');
    expect(starved.rate!.streams[0]!.sustained.high).toBeLessThan(1e3);
    const below = segment(other('rate: 200 MB/s, priority: below the module'), 'rule: fixed');
    const streams =
      '- { name: data, direction: to host, rate: 150 MB/s, transfer: { size: 64 KiB } }';
    const { fit } = busAnswer({ card, segment: below, streams });
    const finding = fit!.findings.find((f) => f.id === 'bus-sharing/other');
    expect(finding).toMatchObject({ level: 'stop' });
    expect(finding!.message).toContain('starves');
  });

  test('waits and buffers are said of each: no simulated wait is longer', () => {
    const words = { card, segment: segment(other('rate: 1 GB/s')) };
    const finding = busAnswer(words).fit!.findings.find((f) => f.id === 'bus-sharing/card')!;
    const clocks = Number(/waits at most (\d+) clocks/.exec(finding.message)![1]);
    const plan = planOf(words);
    const simulation = new BusSimulation(segmentOf(plan, plan.at(simulatedCorner(plan))).config);
    simulation.run(100_000);
    expect(simulation.masters[0]!.counts.longestToData).toBeLessThanOrEqual(clocks);
    expect(finding.message).toContain('buffer');
  });

  test('waits without bound are said to have none', () => {
    const above = segment(other('rate: 1 MB/s, priority: above the module'), 'rule: fixed');
    const { fit } = busAnswer({ card, segment: above });
    const finding = fit!.findings.find((f) => f.id === 'bus-sharing/card')!;
    expect(finding).toMatchObject({ level: 'caution' });
    expect(finding.message).toContain('nothing bounds');
  });
});

describe('behind a bridge', () => {
  const bridge =
    'decode: A, write_latency: 0, reads: split, read_delay: 100 ns, outstanding_reads: 8';
  const reads = (outstanding: number) => ({
    card:
      `mode: PCI-X 133, width: 64, burst: 512 B, request_after: 1, latency_timer: 255, ` +
      `outstanding_splits: ${outstanding}`,
    dma: 'request_size: 512 B',
    bridge: `${bridge}, prefetch: 512 B`,
    host: '1500 ns',
    segment: 'limit: PCI-X 133, width: 64, early_end: 0, arbiter: { grant_clocks: 2 }',
    streams: '- { name: data, direction: from host, rate: 10 MB/s, transfer: { size: 64 KiB } }',
  });

  /** Little's law: bytes in flight over the time they are out, worked by hand below. */
  test('one read at a time moves its bytes in one round trip: bus, bridge, links, host', () => {
    const plan = planOf(reads(1));
    const { sustained, limitedBy } = rateBus(plan).streams[0]!;
    // On the bus 4 clocks of request, some of arbitration and 4 + 64 of completion, 7.5 ns each; the
    // bridge 100 ns; 20 B of request and 512 B + 2 × 20 B of completions at 1 ns a byte; the host 1500 ns.
    const bus = (4 + 10 + 68) * 7.5;
    const out = bus + 100 + 1500 + 20 + 552;
    expect(Math.abs(sustained.expected / (512 / (out * 1e-9)) - 1)).toBeLessThan(0.1);
    expect(limitedBy[0]!.account).toBe('request_stall');
  });

  test('two at a time move twice as much, until bus or link is full', () => {
    const rate = (n: number) => rateBus(planOf(reads(n))).streams[0]!.sustained.expected;
    expect(rate(2) / rate(1)).toBeCloseTo(2, 1);
    expect(rate(4)).toBeLessThan(1e9);
    expect(rate(8)).toBeGreaterThanOrEqual(rate(4));
  });

  test('writes are held by the slower of bus and link, each named', () => {
    const plan = (mode: string, width: number) =>
      rateBus(
        planOf({
          card: `mode: PCI-X 133, width: ${width}, burst: 4 KiB, request_after: 1, latency_timer: 255`,
          bridge,
          segment: `limit: ${mode}, width: 64, early_end: 0`,
        }),
      );
    const wide = plan('PCI-X 133', 64);
    // Payloads of 256 B on x4 at 2.5 GT/s: 256 of 276 B at 1 ns a byte, Acks and SKP beside.
    expect(wide.streams[0]!.sustained.expected / 1e6).toBeGreaterThan(880);
    expect(wide.streams[0]!.sustained.expected / 1e6).toBeLessThan((1000 * 256) / 276);
    expect(wide.streams[0]!.limitedBy[0]!.hop).toBe('between to computer');
    const [bus] = wide.links;
    expect(bus!.ledger.some((row) => row.account === 'retry')).toBe(true);
    const narrow = plan('PCI 66', 32);
    expect(narrow.streams[0]!.limitedBy[0]!).toMatchObject({
      hop: 'card to between',
      direction: 'both',
    });
    for (const { ledger, total } of [...wide.links, ...narrow.links]) {
      expect(ledgerSum(ledger)).toBe(BigInt(total));
    }
  });
});

describe('interrupts', () => {
  test('a wired one is cautioned, with the clocks to read back; a message is not', () => {
    const find = (kind: string) =>
      busAnswer({
        card: `${card}, decode: medium, target_latency: 5, interrupts: ${kind}`,
        segment: segment(''),
      }).fit!.findings.find((f) => f.id === 'bus-interrupts')!;
    const wired = find('wired');
    expect(wired.level).toBe('caution');
    expect(wired.message).toContain('does not push posted data');
    // The first data of a read with medium decode is at clock 3 at the soonest; here 5 later.
    const load = wired.values.find((v) => v.name.startsWith('read back: the load'))!;
    expect(load.text).toMatch(/^8 clocks, 120 ns/);
    expect(find('message').level).toBe('ok');
  });
});
