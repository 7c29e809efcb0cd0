import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ledgerSum } from '../../src/model/ledger.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { buildNetwork } from '../../src/system/build.ts';
import { firstDemand } from '../../src/system/cycles.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { bytesPerSecond, rateNetwork } from '../../src/system/rate.ts';
import {
  type CaseText,
  caseOf,
  exactDma,
  exactHost,
  exactModule,
  read,
  write,
} from './network-cases.ts';

const rate = (text: CaseText) => rateNetwork(buildNetwork(caseOf(text)).network);
const expected = (text: CaseText) => rate(text).streams.map((s) => s.sustained.expected / 1e6);
const noGap = exactDma.replace('gap_per_packet: 64 ns', 'gap_per_packet: 0 ns');
const x8 = (text: string) => text.replace('width: x4', 'width: x8');

describe('one stream', () => {
  it('takes a packet and a pause for each payload', () => {
    // Byte times of 1 ns at 2.5 GT/s x4 (8b/10b) and of 0.5 ns at x8; 20 B beyond the payload.
    const streams = [write('a', '500 MB/s')];
    expect(expected({ streams })[0]).toBeCloseTo(128e3 / (148 + 64), 6);
    expect(expected({ streams, settings: 'Max_Payload_Size: 256 B' })[0]).toBeCloseTo(
      256e3 / 340,
      6,
    );
    const wide = { module: x8(exactModule), host: x8(exactHost) };
    expect(expected({ streams, ...wide })[0]).toBeCloseTo(128e3 / (74 + 64), 6);
  });

  it('is held by the wire less its clock compensation when the engine never pauses', () => {
    const streams = [write('a', '500 MB/s')];
    const { streams: found } = rate({ streams, dma: noGap });
    expect(found[0]!.sustained.expected / 1e6).toBeCloseTo((128e3 / 148) * (1534 / 1538), 6);
    expect(found[0]!.limitedBy[0]).toMatchObject({ account: 'payload', direction: 'up' });
  });

  it('reads no faster than requests × size over the round trip', () => {
    // Standard relation of a closed loop (Little's law): 4 requests of 128 B, 20 ns + 1000 ns + 148 ns.
    const dma = exactDma
      .replace('outstanding_requests: 16', 'outstanding_requests: 4')
      .replace('request_size: 512 B', 'request_size: 128 B');
    const host = exactHost.replace('read_latency: 500 ns', 'read_latency: 1000 ns');
    const { streams } = rate({ streams: [read('a', '300 MB/s')], dma, host });
    expect(streams[0]!.sustained.expected / 1e6).toBeCloseTo((4 * 128e3) / 1168, 6);
    expect(streams[0]!.limitedBy[0]!.account).toBe('request_stall');
  });

  it('waits for credits when their loop is longer than the packets they cover', () => {
    const host = exactHost
      .replace('posted_header_credits: 64', 'posted_header_credits: 8')
      .replace('credit_return: 200 ns', 'credit_return: 3852 ns');
    const { streams, links } = rate({ streams: [write('a', '200 MB/s')], host });
    expect(streams[0]!.sustained.expected / 1e6).toBeCloseTo((8 * 128e3) / 4000, 6);
    expect(streams[0]!.limitedBy[0]!.account).toBe('credit_stall');
    expect(links[0]!.ledger.find((r) => r.account === 'credit_stall')!.share).toBeGreaterThan(0.4);
  });

  it('adds the set-up of each transfer', () => {
    const dma = exactDma.replace('setup_per_transfer: 0 ns', 'setup_per_transfer: 10 us');
    // 32 packets of 212 ns and 10 us for 4 KiB.
    const found = expected({ streams: [write('a', '100 MB/s', '4 KiB')], dma });
    expect(found[0]).toBeCloseTo(4096e3 / (32 * 212 + 10_000), 6);
  });
});

describe('several streams and hops', () => {
  it('lets two streams of one engine grow in the proportion of their needs', () => {
    const streams = [write('a', '520 MB/s'), write('b', '32 MB/s', '64 KiB')];
    const [a, b] = expected({ streams });
    expect(a! + b!).toBeCloseTo(128e3 / 212, 6);
    expect(a! / b!).toBeCloseTo(520 / 32, 9);
  });

  it('carries writes and reads at once, each on its own wire', () => {
    const streams = [write('up', '400 MB/s'), read('down', '400 MB/s')];
    const both = rate({ streams, dma: noGap });
    const alone = expected({ streams: [streams[0]!], dma: noGap })[0]!;
    const up = both.streams[0]!.sustained.expected / 1e6;
    // Requests and Acks of completions take a part of the wire that the writes had alone.
    expect(up).toBeLessThan(alone);
    expect(up).toBeGreaterThan(alone * 0.9);
  });

  it('sends the smallest payload of the path and is held by the slowest hop', () => {
    const switchPort = `${exactHost.replace('root complex', 'endpoint').replace('Max_Payload_Size: 256 B', 'Max_Payload_Size: 128 B')}`;
    const streams = [write('a', '500 MB/s')];
    const found = rate({ streams, settings: '', switch: switchPort, dma: noGap });
    expect(found.links).toHaveLength(4);
    expect(found.streams[0]!.sustained.expected / 1e6).toBeCloseTo(
      (128e3 / 148) * (1534 / 1538),
      6,
    );
  });
});

const number = (min: number, max: number) => fc.integer({ min, max });
/** Cases over the whole range that a file may ask for, exact or not. */
const anyCase: fc.Arbitrary<CaseText> = fc
  .record({
    generation: fc.constantFrom(1, 2, 3, 4, 5),
    width: fc.constantFrom('x1', 'x2', 'x4', 'x8', 'x16'),
    payload: fc.constantFrom(128, 256, 512),
    gap: number(0, 200),
    setup: number(0, 20_000),
    tags: number(1, 64),
    request: fc.constantFrom(64, 128, 512, 4096),
    interrupts: number(0, 3),
    latency: number(100, 3000),
    headers: number(1, 127),
    data: number(32, 2047),
    back: number(0, 5000),
    known: fc.boolean(),
    switched: fc.boolean(),
    streams: fc.array(
      fc.record({
        up: fc.boolean(),
        rate: number(1, 900),
        kilobytes: fc.constantFrom(1, 4, 64, 1024),
        offset: fc.constantFrom(0, 4, 100, 4032),
      }),
      { minLength: 1, maxLength: 3 },
    ),
  })
  .map((r) => {
    const port = `generation: ${r.generation}, width: ${r.width}, Max_Payload_Size: ${r.payload} B`;
    const credits =
      `posted_header_credits: ${r.headers}, posted_data_credits: ${r.data}, ` +
      `credit_return: ${r.back} ns`;
    const host = `role: root complex, read_latency: ${r.latency} ns`;
    return {
      module: `${port}, role: endpoint`,
      dma:
        `gap_per_packet: ${r.gap} ns, setup_per_transfer: ${r.setup} ns, ` +
        `outstanding_requests: ${r.tags}, request_size: ${r.request} B, ` +
        `transfers_per_interrupt: ${r.interrupts}`,
      host: r.known ? `${port}, ${host}, ${credits}` : `${port}, role: root complex`,
      ...(r.switched ? { switch: `${port}, role: endpoint` } : {}),
      settings: '',
      streams: r.streams.map(
        (s, i) =>
          `{name: s${i}, direction: ${s.up ? 'to host' : 'from host'}, rate: ${s.rate} MB/s, ` +
          `transfer: {size: ${s.kilobytes} KiB, start_offset: ${s.offset} B}}`,
      ),
    };
  });

describe('any case', () => {
  it('balances every ledger exactly and charges payload as the rate says', () => {
    fc.assert(
      fc.property(anyCase, (text) => {
        const c = caseOf(text);
        const { network } = buildNetwork(c);
        const found = rateNetwork(network);
        const evaluation = evaluate(network, network.parameters.expected());
        for (const link of found.links) {
          expect(ledgerSum(link.ledger)).toBe(BigInt(link.total));
          for (const row of link.ledger) expect(BigInt(row.ticks) > 0n).toBe(true);
          c.streams.forEach((stream, s) => {
            const row = link.ledger.find(
              (r) => r.account === 'payload' && r.stream === stream.name,
            );
            if (!row) return;
            // The line carries ten or 65/8 bit times a byte; payload has 8/10 or 64/65 of them.
            const bits = link.link.startsWith('2.5') || link.link.startsWith('5 ') ? 8 : 64;
            const bytes = Number(row.ticks) / bits;
            const seconds = Number(link.total) * link.tickSeconds;
            const { expected: rate } = found.streams[s]!.sustained;
            // A window that cannot hold whole cycles drops less than one.
            const missing = rate * seconds - bytes;
            expect(missing).toBeGreaterThan(-1e-9 * bytes);
            expect(missing).toBeLessThan(
              firstDemand(network, evaluation.demands, s).bytes + 1e-9 * bytes,
            );
          });
        }
      }),
      { numRuns: 150 },
    );
  });

  it('orders low, expected, high and never rates above the ceiling', () => {
    fc.assert(
      fc.property(anyCase, (text) => {
        const c = caseOf(text);
        for (const { sustained, ceiling } of rateNetwork(buildNetwork(c).network).streams) {
          expect(sustained.low).toBeGreaterThan(0);
          expect(sustained.low).toBeLessThanOrEqual(sustained.expected);
          expect(sustained.expected).toBeLessThanOrEqual(sustained.high);
          expect(sustained.high).toBeLessThanOrEqual(ceiling * (1 + 1e-12));
        }
      }),
      { numRuns: 150 },
    );
  });

  it('moves every rate of a lone stream in the declared direction of every parameter', () => {
    fc.assert(
      fc.property(anyCase, (text) => {
        const c = caseOf(text);
        const { network } = buildNetwork({ ...c, streams: [c.streams[0]!] });
        const { parameters } = network;
        const at = (values: number[]) => toNumber(bytesPerSecond(evaluate(network, values))[0]!);
        const middle = at(parameters.expected());
        for (const index of parameters.unknowns()) {
          if (parameters.entries[index]!.effect === 'depends') continue;
          expect(at(parameters.alone(index, 'low'))).toBeLessThanOrEqual(middle * (1 + 1e-12));
          expect(at(parameters.alone(index, 'high'))).toBeGreaterThanOrEqual(middle * (1 - 1e-12));
        }
      }),
      { numRuns: 150 },
    );
  });
});
