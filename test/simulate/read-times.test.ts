/**
 * Reads that take different times: what is drawn follows what is stated, requests are free again in
 * any order, and mean throughput is that of queueing theory, worked out here from its own texts.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel } from '../../src/kernel/index.ts';
import { packetTicks } from '../../src/links/pcie/charge.ts';
import { pcie } from '../../src/links/pcie/index.ts';
import { dataPacket } from '../../src/links/pcie/packets.ts';
import { rational, toNumber } from '../../src/quantity/index.ts';
import type { LatencyDraw } from '../../src/system/latency.ts';
import type { Network, ReadWindow } from '../../src/system/network.ts';
import { simulateNetwork } from '../../src/system/simulate/index.ts';
import { inverseOf, latencySource } from '../../src/system/simulate/latency.ts';
import { InOrder } from '../../src/system/simulate/reads-out.ts';
import { link, many, networkOf, receiver, type StreamSpec } from './networks.ts';

const top = 2 ** 53 - 1;
const half = rational(1n, 2n);
const long = {
  kind: 'points',
  points: [
    { share: rational(0n), ticks: 3000 },
    { share: half, ticks: 3500 },
    { share: rational(99n, 100n), ticks: 6000 },
    { share: rational(1n), ticks: 150_000 },
  ],
} as const;
const longMean = 0.5 * 3250 + 0.49 * 4750 + 0.01 * 78_000;

describe('the inverse of percentile points', () => {
  it('gives each point at its share, and rises from the least to the most', () => {
    const inverse = inverseOf(long);
    expect([0, 2 ** 52, top].map(inverse)).toEqual([3000, 3500, 150_000]);
    expect(inverse(2 ** 51)).toBe(3250);
    const drawn = fc.integer({ min: 0, max: top });
    fc.assert(
      fc.property(drawn, drawn, (a, b) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)];
        expect(inverse(low)).toBeLessThanOrEqual(inverse(high));
      }),
    );
  });

  it('is exact where doubles are not: a rise of 2^45 ticks over half of all numbers', () => {
    const points = [
      { share: rational(0n), ticks: 1 },
      { share: half, ticks: 2 ** 45 },
      { share: rational(1n), ticks: 2 ** 45 },
    ];
    const inverse = inverseOf({ kind: 'points', points });
    const rise = 2n ** 45n - 1n;
    fc.assert(
      fc.property(fc.bigInt({ min: 0n, max: 2n ** 52n - 1n }), (u) => {
        // Nearest whole number to 1 + rise · (u + 1/2) / 2^52.
        const nearest = 1n + (rise * (2n * u + 1n) + 2n ** 52n) / 2n ** 53n;
        expect(inverse(Number(u))).toBe(Number(nearest));
      }),
    );
  });

  it('has the mean of its lines over many draws, within four standard errors', () => {
    const draws = 40_000;
    for (const [draw, mean, deviation] of [
      [long, longMean, 8000],
      [{ kind: 'exponential', least: 700, mean: 400 }, 1100, 400],
    ] as const) {
      const source = latencySource(draw, new Kernel({ seed: 5 }).stream());
      let sum = 0;
      for (let i = 0; i < draws; i++) sum += source();
      const error = (4 * deviation) / Math.sqrt(draws);
      expect(Math.abs(sum / draws - mean)).toBeLessThan(error);
    }
  });
});

describe('requests that come back in any order', () => {
  it('are over one by one; transfers are whole when all before are too', () => {
    const order = fc.array(fc.boolean(), { minLength: 1, maxLength: 40 }).chain((ends) =>
      fc.tuple(
        fc.constant(ends),
        fc.shuffledSubarray(
          ends.map((_, i) => i),
          { minLength: ends.length },
        ),
      ),
    );
    fc.assert(
      fc.property(order, ([ends, back]) => {
        const out = new InOrder();
        // Numbers run on from an earlier round and over their end.
        for (let i = 0; i < 2 ** 17 - 20; i++) out.arrive(out.send(false));
        const sent = ends.map((end) => out.send(end));
        const arrived = new Set<number>();
        let over = 0;
        for (const i of back) {
          arrived.add(i);
          const before = over;
          while (arrived.has(over)) over++;
          expect(out.arrive(sent[i]!)).toBe(over - before);
          expect(out.transfers).toBe(ends.slice(before, over).filter(Boolean).length);
        }
      }),
      { numRuns: 20 },
    );
  });
});

/** One stream of alike reads, each answered by one completion, on a link that nothing else uses. */
function reading(bytes: number, window: Partial<ReadWindow> & { latency: bigint }, more = {}) {
  const end = { ...receiver, packetsPerAck: many };
  const config = link({
    generation: 1,
    width: 8,
    maxPayload: 512,
    completionPayload: 512,
    rootSide: end,
    moduleSide: end,
  });
  const flow = { kind: 'read', transferBytes: bytes * 8, requestBytes: bytes } as const;
  const spec: StreamSpec = { flow, ...more };
  const plain = networkOf([config], [spec]);
  const reads = { key: 'reads', window: 8, cause: 'reads', ...window };
  const network: Network = {
    ...plain,
    streams: plain.streams.map((stream) => ({ ...stream, reads: () => reads })),
  };
  const { interval, lost } = pcie.compensation(config);
  const completion = packetTicks(dataPacket('CplD', { ...stream0(plain) }, bytes, 0), config);
  const request = pcie.readTrip(
    { offset: 0, bytes, count: 1 },
    stream0(plain),
    config,
  ).requestTicks;
  return { network, completion, request, available: 1 - lost / interval };
}

const stream0 = (network: Network) => network.streams[0]!.flow([]);

/** Requests answered a tick, over about so many of them. */
function throughput(network: Network, bytes: number, ticks: number, readDelay?: 'exponential') {
  const options = { seed: 11, warmUp: Math.ceil(ticks / 10), window: ticks };
  const result = simulateNetwork(network, readDelay ? { ...options, readDelay } : options);
  expect(result.settings.readDelay).toBe(readDelay ?? 'stated');
  return result.streams[0]!.bytes / bytes / result.window.ticks;
}

const spreadOf = (draw: LatencyDraw, beside = 0n) => ({ host: 'h', draw, beside });

describe('throughput of reads whose times are drawn', () => {
  const shapes: [string, LatencyDraw, number][] = [
    ['percentiles', long, longMean],
    ['exponential above a least', { kind: 'exponential', least: 2000, mean: 2700 }, 4700],
    [
      'two times',
      {
        kind: 'points',
        points: [
          { share: rational(0n), ticks: 1000 },
          { share: rational(9n, 10n), ticks: 1000 },
          { share: rational(9n, 10n), ticks: 38_000 },
          { share: rational(1n), ticks: 38_000 },
        ],
      },
      4700,
    ],
  ];

  // J. D. C. Little, Operations Research 9 (1961) 383: N = X·E[T]. With N requests out and no waiting,
  // a request is out for E[L] and the wires; of L only the mean counts (Baskett, Chandy, Muntz and
  // Palacios, J. ACM 22 (1975) 248: stations of infinitely many servers are insensitive).
  it.each(shapes)(
    '%s: n outstanding over the mean round trip, far from a full wire',
    (_, draw, mean) => {
      const n = 3;
      const beside = 400;
      const latency = BigInt(Math.round(mean) + beside);
      const spread = spreadOf(draw, BigInt(beside));
      const { network, completion, request } = reading(64, { window: n, latency, spread });
      const found = throughput(network, 64, 60_000_000);
      const expected = n / (mean + beside + request + completion);
      // Of 40 000 requests: the heavy tail alone makes 2 % of noise; waiting on the wire costs 1 %.
      expect(found / expected).toBeGreaterThan(0.97);
      expect(found / expected).toBeLessThan(1.02);
    },
  );

  it('exponential times and one wire: the closed form of M/D/1//N, between its known bounds', () => {
    for (const [n, ratio] of [
      [2, 2],
      [8, 8],
      [24, 12],
      [16, 24],
    ] as const) {
      const bytes = 512;
      const shape = reading(bytes, { latency: 0n });
      const service = shape.completion / shape.available;
      const think = Math.round(ratio * service) + shape.request;
      const latency = BigInt(Math.round(ratio * service));
      const { network } = reading(bytes, { window: n, latency });
      const found = throughput(network, bytes, Math.ceil(20_000 * service), 'exponential');
      const exact = deterministicServer(n, think, service);
      expect(Math.abs(found / exact - 1)).toBeLessThan(0.015);
      // The same with exponential service is slower; nothing passes wire and round trip.
      expect(exact).toBeGreaterThanOrEqual(meanValueAnalysis(n, think, service));
      expect(exact).toBeLessThanOrEqual(Math.min(1 / service, n / (think + service)));
      // Where the queue neither empties nor fills, fixed service shows.
      if (n === 8) expect(found).toBeGreaterThan(1.002 * meanValueAnalysis(n, think, service));
    }
  });
});

/**
 * Exact throughput of M/M/1//N, a closed network of a delay and one exponential server, by mean value
 * analysis (Reiser and Lavenberg, J. ACM 27 (1980) 313).
 */
function meanValueAnalysis(n: number, think: number, service: number): number {
  let queue = 0;
  let rate = 0;
  for (let k = 1; k <= n; k++) {
    const residence = service * (1 + queue);
    rate = k / (think + residence);
    queue = rate * residence;
  }
  return rate;
}

/**
 * Exact throughput of M/D/1//N (machine repair with a fixed repair time): the chain of requests left
 * waiting at ends of service; in a service each of those thinking arrives with 1 − e^(−D/Z), apart
 * (the embedded chain: D. G. Kendall, Ann. Math. Stat. 24 (1953) 338).
 */
function deterministicServer(n: number, think: number, service: number): number {
  const p = 1 - Math.exp(-service / think);
  const binomial = (m: number) => {
    const row = [(1 - p) ** m];
    for (let k = 1; k <= m; k++) row.push((row[k - 1]! * (m - k + 1) * p) / (k * (1 - p)));
    return row;
  };
  let left = Array.from({ length: n }, () => 1 / n);
  for (let round = 0; round < 4000; round++) {
    const next = left.map(() => 0);
    left.forEach((chance, j) => {
      const present = Math.max(j, 1);
      binomial(n - present).forEach((arrivals, k) => {
        next[present - 1 + k]! += chance * arrivals;
      });
    });
    left = next;
  }
  return 1 / (service + (left[0]! * think) / n);
}

describe('out-of-order return', () => {
  it('keeps requests out that an engine in order would still wait for', () => {
    const n = 8;
    const latency = BigInt(Math.round(longMean));
    const rate = (inOrder: boolean) => {
      const spread = spreadOf(long);
      const { network } = reading(64, { window: n, latency, spread, inOrder });
      return throughput(network, 64, 40_000_000);
    };
    const [any, inOrder] = [rate(false), rate(true)];
    // In order, one read in a hundred of 78 000 ticks on average holds up all behind it.
    expect(any).toBeGreaterThan(1.5 * inOrder);
    // Never slower than rounds of n reads, each as long as its longest: E[max] < most.
    expect(inOrder).toBeGreaterThan(n / (150_000 + 1000));
  });

  it('changes nothing where every read takes the same time', () => {
    const flat = {
      kind: 'points',
      points: [0n, 1n].map((s) => ({ share: rational(s), ticks: 5000 })),
    };
    const rate = (inOrder: boolean) => {
      const spread = spreadOf(flat as unknown as LatencyDraw);
      const { network } = reading(64, { window: 8, latency: 5000n, spread, inOrder });
      return throughput(network, 64, 4_000_000);
    };
    expect(rate(false)).toBe(rate(true));
  });

  it('pays one set-up a transfer, whatever the order in which its reads come back', () => {
    const setUp = 30_000;
    const spread = spreadOf(long);
    const more = { pauses: { perTransfer: setUp } };
    const { network, completion } = reading(64, { window: 8, latency: 4755n, spread }, more);
    const result = simulateNetwork(network, { seed: 3, warmUp: 400_000, window: 40_000_000 });
    const { bytes } = result.streams[0]!;
    const down = result.links[1]!;
    const setUps = down.ledger.find(({ account }) => account === 'setup')!;
    // A transfer is 8 reads of 64 B. Completions that come during a set-up are not idle time: less than
    // two transfers' worth on average, since at most 8 reads are out.
    const each = Number(setUps.ticks) / (bytes / 512) / setUp;
    expect(each).toBeLessThan(1.01);
    expect(each).toBeGreaterThan(1 - (2 * 8 * completion) / setUp);
  });

  it('is the same to the byte again, and leaves no request behind', () => {
    const run = () => {
      const { network } = reading(64, { window: 5, latency: 4755n, spread: spreadOf(long) });
      return simulateNetwork(network, { seed: 9, warmUp: 100_000, window: 4_000_000, skip: true });
    };
    const [a, b] = [run(), run()];
    expect(a).toEqual(b);
    expect(a.period).toBeUndefined();
    expect(toNumber(a.streams[0]!.rate)).toBeGreaterThan(0);
  });
});
