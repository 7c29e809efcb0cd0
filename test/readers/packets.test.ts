import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { rational } from '../../src/quantity/index.ts';
import { GapCounter } from '../../src/readers/histogram.ts';
import { type EvidenceMapping, readPacketLog } from '../../src/readers/index.ts';
import { decimalInstant, instantOf, windowsBetween } from '../../src/readers/instant.ts';
import { KINDS_MAX, WINDOWS_MAX } from '../../src/readers/traffic.ts';
import { asText, bytesOf, pieces, whole } from './bytes.ts';

const read = (text: string, mapping: EvidenceMapping = {}) =>
  readPacketLog(whole(text), { file: 'log', mapping, window: rational(1, 1_000_000_000) });

describe('points in time', () => {
  test('of decimal text are those of exact arithmetic', () => {
    const digits = fc.string({
      unit: fc.constantFrom(...'0123456789'),
      minLength: 1,
      maxLength: 14,
    });
    const power = fc.constantFrom(0, -3, -6, -9, -12);
    fc.assert(
      fc.property(digits, fc.option(digits), power, (whole_, fraction, p) => {
        const text = fraction === null ? whole_ : `${whole_}.${fraction}`;
        const places = fraction?.length ?? 0;
        const exact = rational(BigInt(whole_ + (fraction ?? '')), 10n ** BigInt(places - p));
        expect(decimalInstant(text, p)).toEqual(instantOf(exact));
      }),
    );
  });

  test('fall into the window of exact arithmetic, near and far', () => {
    const instant = fc.record({
      seconds: fc.integer({ min: -1_000_000, max: 1_000_000_000 }),
      picos: fc.integer({ min: 0, max: 999_999_999_999 }),
    });
    fc.assert(
      fc.property(instant, instant, fc.integer({ min: 1, max: 2 ** 50 }), (a, b, width) => {
        const picos = (t: typeof a) => BigInt(t.seconds) * 10n ** 12n + BigInt(t.picos);
        const apart = picos(b) - picos(a);
        const size = BigInt(width);
        const expected = (apart - (((apart % size) + size) % size)) / size;
        // Past 2^53 windows only the first digits matter: they are joined into wider ones.
        if (expected < 2n ** 53n && expected > -(2n ** 53n)) {
          expect(windowsBetween(a, b, width)).toBe(Number(expected));
        }
      }),
    );
  });

  test.each(['', '.5', '5.', '-1', '1e3', '1,5', 'x'])(
    '%j is left to the reader of cells',
    (text) => {
      expect(decimalInstant(text, 0)).toBeUndefined();
    },
  );
});

describe('bins of gaps', () => {
  test('hold each gap between their edges, an eighth of an octave apart at most', () => {
    const gap = fc.oneof(fc.nat({ max: 100 }), fc.maxSafeInteger().map(Math.abs));
    fc.assert(
      fc.property(gap, (picos) => {
        const counter = new GapCounter();
        counter.add(picos);
        const { bins, least, greatest } = counter.result();
        expect([least, greatest]).toEqual([picos, picos]);
        expect(bins).toHaveLength(1);
        const { from, below, packets } = bins[0]!;
        expect(packets).toBe(1);
        expect(from <= picos && picos < below).toBe(true);
        expect(below - from <= Math.max(1, from / 8)).toBe(true);
      }),
    );
  });

  test('are the same for one gap whatever others there are, and lose none', () => {
    const counter = new GapCounter();
    for (let i = 0; i < 20_000; i += 1) counter.add(i * i);
    const { bins, count } = counter.result();
    expect(bins.reduce((sum, b) => sum + b.packets, 0)).toBe(count);
    for (let i = 1; i < bins.length; i += 1) {
      expect(bins[i]!.from).toBeGreaterThanOrEqual(bins[i - 1]!.below);
    }
  });
});

interface Packet {
  readonly ns: number;
  readonly way: string;
  readonly kind: string;
  readonly bytes: number;
}

/** The same sums, the plain way. */
function summed(packets: readonly Packet[], width: number) {
  const totals = new Map<string, number[]>();
  const windows = new Map<string, number[]>();
  const add = (map: Map<string, number[]>, key: string, bytes: number) => {
    const [count, sum] = map.get(key) ?? [0, 0];
    map.set(key, [count! + 1, sum! + bytes]);
  };
  for (const { ns, way, kind, bytes } of packets) {
    add(totals, `${way}/${kind}`, bytes);
    const index = Math.floor((ns - packets[0]!.ns) / width);
    add(windows, `${index}/${way}/${kind}`, bytes);
  }
  return { totals, windows };
}

const packet = fc.record({
  ns: fc.nat({ max: 5000 }),
  way: fc.constantFrom('to host', 'from host'),
  kind: fc.constantFrom('write', 'read', 'completion'),
  bytes: fc.nat({ max: 4096 }),
});
const packetsInOrder = fc
  .array(packet, { minLength: 1, maxLength: 60 })
  .map((all) => [...all].sort((a, b) => a.ns - b.ns));

const csvOf = (all: readonly Packet[]) =>
  `time (ns),direction,kind,bytes\n${all.map((p) => `${p.ns},${p.way},${p.kind},${p.bytes}`).join('\n')}\n`;
const jsonOf = (all: readonly Packet[]) =>
  all
    .map((p) =>
      JSON.stringify({ 'time (ns)': p.ns, direction: p.way, kind: p.kind, bytes: p.bytes }),
    )
    .join('\n');

describe('a packet log', () => {
  test('adds up to the sums of the plain way, in totals, windows and gaps', async () => {
    await fc.assert(
      fc.asyncProperty(packetsInOrder, async (all) => {
        const log = await read(csvOf(all));
        expect(log.problems).toEqual([]);
        const { traffic } = log;
        const width =
          Number(traffic.windowWidth!.n * 1_000_000_000n) / Number(traffic.windowWidth!.d);
        const { totals, windows } = summed(all, width);
        const gotTotals = traffic.directions.flatMap((d) =>
          d.kinds.map((k) => [`${d.direction}/${k.kind}`, [k.packets, k.bytes]] as const),
        );
        expect(new Map(gotTotals as never)).toEqual(totals);
        const gotWindows = traffic.windows.map(
          (w) => [`${w.index}/${w.direction}/${w.kind}`, [w.packets, w.bytes]] as const,
        );
        expect(new Map(gotWindows as never)).toEqual(windows);
        expect(traffic.windows.every((w) => w.index < WINDOWS_MAX)).toBe(true);
        for (const { direction, gaps } of traffic.directions) {
          const times = all.filter((p) => p.way === direction).map((p) => p.ns);
          const between = times.slice(1).map((t, i) => 1000 * (t - times[i]!));
          expect(gaps!.count).toBe(between.length);
          expect(gaps!.least).toBe(between.length ? Math.min(...between) : undefined);
          expect(gaps!.greatest).toBe(between.length ? Math.max(...between) : undefined);
        }
        expect(traffic.span).toEqual(rational(all.at(-1)!.ns - all[0]!.ns, 1_000_000_000));
      }),
      { numRuns: 60 },
    );
  });

  test('says the same as CSV and as JSON Lines, however it is cut', async () => {
    await fc.assert(
      fc.asyncProperty(packetsInOrder, fc.integer({ min: 1, max: 50 }), async (all, size) => {
        const csv = await readPacketLog(pieces(bytesOf(csvOf(all)), [size]), { file: 'log' });
        const json = await readPacketLog(pieces(bytesOf(jsonOf(all)), [size]), { file: 'log' });
        expect(asText(csv)).toBe(asText(json));
      }),
      { numRuns: 30 },
    );
  });

  test('with columns of other names is read by a mapping', async () => {
    const log = await read('when;way;what;n\n1;rx;mem;64\n3;tx;mem;32\n', {
      columns: { time: 'when', direction: 'way', kind: 'what', bytes: 'n' },
      units: { time: 'us', size: 'B' },
      directions: { rx: 'to host', tx: 'from host' },
    });
    expect([log.problems, log.ambiguities]).toEqual([[], []]);
    expect(log.traffic.directions).toMatchObject([
      { direction: 'to host', packets: 1, bytes: 64, kinds: [{ kind: 'mem' }] },
      { direction: 'from host', packets: 1, bytes: 32 },
    ]);
    expect(log.traffic.span).toEqual(rational(2, 1_000_000));
  });

  test('without units counts packets and leaves times and bytes open', async () => {
    const log = await read('time,direction,length\n1,to host,64\n2,to host,64\n');
    expect(log.ambiguities.map((a) => [a.id, a.cells])).toEqual([
      ['size: no unit', 2],
      ['time: no unit', 2],
    ]);
    const { traffic } = log;
    expect(traffic).toMatchObject({ packets: 2, untimed: 2, windows: [] });
    expect(traffic.directions).toEqual([
      { direction: 'to host', packets: 2, kinds: [{ kind: 'packet', packets: 2 }] },
    ]);
  });

  test('keeps words for directions that are open, as written', async () => {
    const log = await read('time (ns),dir,bytes\n1,rx,64\n2,tx,64\n');
    expect(log.traffic.directions.map((d) => d.direction)).toEqual(['rx', 'tx']);
    expect(log.ambiguities.map((a) => a.id)).toEqual(['direction: rx', 'direction: tx']);
  });

  test('whose times go back says so, and counts no gap below 0', async () => {
    const log = await read('time (ns),direction,bytes\n10,to host,1\n5,to host,2\n20,to host,4\n');
    expect(log.traffic.outOfOrder).toBe(1);
    expect(log.findings).toMatchObject([{ id: 'evidence-order', level: 'caution' }]);
    expect(log.traffic.directions[0]!.gaps).toMatchObject({ count: 1, least: 15_000 });
    expect(log.traffic.windows[0]).toMatchObject({ index: 0, packets: 2, bytes: 3 });
  });

  test('with digits below a picosecond says that they were dropped', async () => {
    const log = await read('time (ns),direction,bytes\n0.0001,to host,1\n1,to host,1\n');
    expect(log.findings).toMatchObject([{ id: 'evidence-rounded' }]);
    expect(log.traffic.first).toEqual(rational(0));
  });

  test('bad rows are problems with their place, and the others are counted', async () => {
    const log = await read(
      'time (ns),direction,bytes\nx,to host,1\n2,to host,1.5\n3,to host,5 GiB\n4,to host,1\n5,to host\n',
    );
    expect(log.problems.map((p) => [p.code, p.place.line, p.place.column])).toEqual([
      ['bad-number', 2, 1],
      ['out-of-range', 3, 11],
      ['out-of-range', 4, 11],
      ['empty-cell', 6, 10],
    ]);
    expect(log.traffic.packets).toBe(1);
  });

  test.each([
    ['direction,bytes\nto host,1\n', /times/],
    ['time (ns),direction\n1,to host\n', /sizes/],
  ])('%j lacks a column and is not read', async (text, expected) => {
    const log = await read(text);
    expect(log.problems).toMatchObject([{ code: 'no-column' }]);
    expect(log.problems[0]!.expected).toMatch(expected);
    expect(log.traffic.packets).toBe(0);
  });

  test('of any number of kinds and directions stays within bounds and loses no packet', async () => {
    const rows = Array.from(
      { length: 3000 },
      (_, i) => `${i * 1000},way ${i % 40},kind ${i % 100},1`,
    );
    const log = await read(`time (us),direction,kind,bytes\n${rows.join('\n')}\n`);
    const kinds = new Set(log.traffic.directions.flatMap((d) => d.kinds.map((k) => k.kind)));
    expect(kinds.size).toBeLessThanOrEqual(KINDS_MAX + 1);
    expect(log.traffic.directions.length).toBeLessThanOrEqual(9);
    expect(log.traffic.directions.reduce((sum, d) => sum + d.packets, 0)).toBe(3000);
    expect(log.traffic.windows.reduce((sum, w) => sum + w.bytes!, 0)).toBe(3000);
  });

  test('refuses a window that is no whole number of picoseconds', async () => {
    const options = { file: 'log', window: rational(1, 3) };
    await expect(readPacketLog(whole(''), options)).rejects.toThrow(/whole picoseconds/);
  });
});
