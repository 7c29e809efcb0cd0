import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { rational } from '../../src/quantity/index.ts';
import { BLOCK_BYTES_MAX } from '../../src/readers/capture-state.ts';
import { captureClock, captureInstant } from '../../src/readers/capture-time.ts';
import {
  type CapturedFrame,
  type CaptureSummary,
  captureFrames,
  evidenceKind,
  readCapture,
} from '../../src/readers/index.ts';
import { asText, pieces } from './bytes.ts';
import { CaptureWriter, frameOf } from './capture-writer.ts';

async function frames(bytes: Uint8Array, sizes = [bytes.length || 1]) {
  const found: CapturedFrame[] = [];
  const reading = captureFrames(pieces(bytes, sizes), { file: 'c' });
  for (;;) {
    const { done, value } = await reading.next();
    if (done) return { frames: found, summary: value as CaptureSummary };
    found.push({ ...(value as CapturedFrame), data: (value as CapturedFrame).data.slice() });
  }
}

const orders = [
  ['little-endian', true],
  ['big-endian', false],
] as const;

function sample(little: boolean): Uint8Array {
  const w = new CaptureWriter(little);
  return w.file(
    w.section(),
    w.block(0x0bad, w.fields([4, 1]), new Uint8Array(40)),
    w.interface([
      [2, new TextEncoder().encode('lan0')],
      [8, w.fields([8, 1_000_000_000n])],
      [9, Uint8Array.of(9)],
      [13, Uint8Array.of(4)],
    ]),
    w.enhanced({ time: 1_700_000_000_123_456_789n, data: frameOf(0x0800, 64), direction: 1 }),
    w.interface([[14, w.fields([8, -10n])]], 1, 96),
    w.enhanced({
      interface: 1,
      time: 1_700_000_010_000_001n,
      data: frameOf(0x8808, 60),
      original: 1500,
      direction: 2,
    }),
    w.simple(frameOf(0x86dd, 61)),
    w.statistics(12n, 3n),
  );
}

describe.each(orders)('a pcapng file, %s', (_, little) => {
  test('gives frames with time, lengths, direction and offset', async () => {
    const { frames: found, summary } = await frames(sample(little));
    expect(summary.problems).toEqual([]);
    expect(found.map(({ data, ...rest }) => ({ ...rest, bytes: data.length }))).toEqual([
      {
        offset: 28 + 56 + 60,
        interface: 0,
        time: { seconds: 1_700_000_000, rest: 123_456_789, perSecond: 1_000_000_000 },
        captured: 64,
        original: 64,
        direction: 'inbound',
        bytes: 64,
      },
      {
        offset: 28 + 56 + 60 + 108 + 36,
        interface: 1,
        time: { seconds: 1_700_000_000, rest: 1, perSecond: 1_000_000 },
        captured: 60,
        original: 1500,
        direction: 'outbound',
        bytes: 60,
      },
      {
        offset: 28 + 56 + 60 + 108 + 36 + 104,
        interface: 0,
        captured: 61,
        original: 61,
        direction: 'unknown',
        bytes: 61,
      },
    ]);
    expect(found[2]!.data).toEqual(frameOf(0x86dd, 61));
  });

  test('gives interfaces, counters, skipped blocks and totals by EtherType', async () => {
    const { summary } = await frames(sample(little));
    expect(summary).toMatchObject({
      format: 'pcapng',
      interfaces: [
        {
          linkType: 1,
          name: 'lan0',
          speed: 1_000_000_000,
          ticksPerSecond: 1_000_000_000,
          frameCheckBytes: 4,
          frames: 2,
          received: 12,
          dropped: 3,
        },
        { snapLength: 96, ticksPerSecond: 1_000_000, offsetSeconds: -10, frames: 1 },
      ],
      capturedBytes: 185,
      cutFrames: 1,
      skippedBlocks: [{ type: 0x0bad, count: 1 }],
      readBytes: sample(little).length,
    });
    expect(
      summary.traffic.directions.map((d) => [d.direction, d.kinds.map((k) => [k.kind, k.bytes])]),
    ).toEqual([
      ['inbound', [['EtherType 0x0800', 64]]],
      ['outbound', [['EtherType 0x8808', 1500]]],
      ['unknown', [['EtherType 0x86dd', 61]]],
    ]);
  });

  test('reads the same however it is cut', async () => {
    const one = asText(await frames(sample(little)));
    for (const sizes of [[1], [3, 64], [100]]) {
      expect(asText(await frames(sample(little), sizes))).toBe(one);
    }
  });

  test('cut at any offset gives the whole blocks in front and says where it ends', async () => {
    const bytes = sample(little);
    const { frames: all } = await frames(bytes);
    for (let cut = 4; cut < bytes.length; cut += 1) {
      const { frames: found, summary } = await frames(bytes.subarray(0, cut));
      expect(found).toEqual(all.slice(0, found.length));
      expect(summary.readBytes).toBeLessThanOrEqual(cut);
      expect(summary.problems).toEqual([]);
      const told = summary.findings.find((f) => f.id === 'evidence-cut');
      if (summary.readBytes === cut) expect(told).toBeUndefined();
      else expect(told!.message).toContain(`byte offset ${summary.readBytes}`);
      // The next frame not given is one whose block is not whole.
      const next = all[found.length];
      if (next !== undefined) expect(next.offset).toBeGreaterThanOrEqual(summary.readBytes);
    }
  });
});

describe('pcapng', () => {
  const w = new CaptureWriter(true);
  const start = [w.section(), w.interface([[9, Uint8Array.of(9)]])];
  const frame = w.enhanced({ time: 5n, data: frameOf(0x0800, 60) });

  test('sections have byte orders and interfaces of their own', async () => {
    const big = new CaptureWriter(false);
    const { frames: found, summary } = await frames(
      w.file(sample(true), sample(false), big.section()),
    );
    expect(found.map((f) => f.interface)).toEqual([0, 1, 0, 2, 3, 2]);
    expect(summary.interfaces).toHaveLength(4);
    expect(summary.problems).toEqual([]);
  });

  test('tags of 802.1Q are looked behind for the type', async () => {
    const tagged = frameOf(0x8100, 64);
    tagged.set([0x81, 0, 0, 1, 0x88, 0xf7], 12);
    const llc = frameOf(0x0026, 60);
    const { summary } = await frames(
      w.file(
        ...start,
        w.enhanced({ time: 1n, data: tagged }),
        w.enhanced({ time: 2n, data: llc }),
        w.enhanced({ time: 3n, data: llc.slice(0, 13), original: 60 }),
      ),
    );
    expect(summary.traffic.directions[0]!.kinds.map((k) => k.kind)).toEqual([
      'EtherType 0x88f7',
      'length field',
      'cut before its type',
    ]);
  });

  test('blocks that contradict themselves are left out, and the next is read', async () => {
    const bad = [
      w.enhanced({ interface: 7, time: 1n, data: frameOf(0x0800, 60) }),
      w.block(6, w.fields([4, 0], [4, 0], [4, 0], [4, 500], [4, 500]), new Uint8Array(60)),
      w.block(6, w.fields([4, 0])),
      w.statistics(1n, 1n, 9),
    ];
    for (const block of bad) {
      const { frames: found, summary } = await frames(w.file(...start, block, frame));
      expect(found).toHaveLength(1);
      expect(summary.problems).toMatchObject([{ code: 'bad-block' }]);
      expect(summary.problems[0]!.got).toContain(
        `byte offset ${start[0]!.length + start[1]!.length}`,
      );
    }
  });

  test('a length that cannot be trusted ends the reading, and says where', async () => {
    const broken = frame.slice();
    broken[broken.length - 4] = 1;
    const odd = w.fields([4, 6], [4, 33]);
    for (const block of [broken, odd]) {
      const { frames: found, summary } = await frames(w.file(...start, frame, block, frame));
      expect(found).toHaveLength(1);
      expect(summary.problems).toMatchObject([{ code: 'bad-block' }]);
      expect(summary.readBytes).toBe(w.file(...start, frame).length);
    }
  });

  test('a huge block of any kind is passed over without being held', async () => {
    const length = BLOCK_BYTES_MAX + 64;
    for (const type of [6, 0x0bad]) {
      const huge = w.block(type, new Uint8Array(length - 12));
      const { frames: found, summary } = await frames(w.file(...start, huge, frame), [70_000]);
      expect(found).toHaveLength(1);
      expect(summary.problems.length).toBe(type === 6 ? 1 : 0);
    }
  });

  test('a section of another version is passed over up to the next one', async () => {
    const other = w.block(0x0a0d0d0a, w.fields([4, 0x1a2b3c4d], [2, 2], [2, 0], [8, -1n]));
    const { frames: found, summary } = await frames(
      w.file(other, ...start.slice(1), frame, ...start, frame),
    );
    expect(found).toHaveLength(1);
    expect(summary.problems).toMatchObject([{ code: 'bad-block' }]);
  });

  test('frames of a link that is no Ethernet are counted by length, with a caution', async () => {
    const { summary } = await frames(w.file(w.section(), w.interface([], 113), frame));
    expect(summary.traffic.directions[0]!.kinds).toMatchObject([
      { kind: 'link type 113', bytes: 60 },
    ]);
    expect(summary.findings).toMatchObject([{ id: 'evidence-capture', subject: 'link type 113' }]);
  });

  test('the memory of a chunk may be used again once the next is asked for', async () => {
    const bytes = w.file(...start, frame, frame, frame);
    async function* reused() {
      const memory = new Uint8Array(50);
      for (let at = 0; at < bytes.length; at += memory.length) {
        const piece = bytes.subarray(at, at + memory.length);
        memory.set(piece);
        yield memory.subarray(0, piece.length);
        memory.fill(0xee);
      }
    }
    const summary = await readCapture(reused(), { file: 'c' });
    expect(summary.problems).toEqual([]);
    expect(summary.traffic.packets).toBe(3);
  });
});

describe('times of captures', () => {
  test('are those of exact division for every resolution', () => {
    const powers = fc.oneof(
      fc.integer({ min: 0, max: 19 }).map((p) => 10n ** BigInt(p)),
      fc.integer({ min: 0, max: 63 }).map((p) => 2n ** BigInt(p)),
    );
    const count = fc.bigInt({ min: 0n, max: 2n ** 64n - 1n });
    fc.assert(
      fc.property(powers, count, fc.integer({ min: -100, max: 100 }), (units, n, offset) => {
        const clock = captureClock(units, offset);
        const time = clock.time(Number(n >> 32n), Number(n & 0xffff_ffffn));
        if (!Number.isSafeInteger(time.seconds)) return;
        expect(time.seconds).toBe(Number(n / units) + offset);
        const per = BigInt(time.perSecond);
        expect(BigInt(time.rest)).toBe(clock.rounds ? ((n % units) * per) / units : n % units);
        const { instant, rounded } = captureInstant(time);
        const picos = BigInt(time.rest) * 10n ** 12n;
        expect(BigInt(instant.picos)).toBe(picos / per);
        expect(rounded).toBe(picos % per !== 0n);
      }),
    );
  });
});

describe('a classic capture', () => {
  const data = frameOf(0x0800, 61);
  test.each([
    ['microseconds', 0xa1b2c3d4, 1_000_000],
    ['nanoseconds', 0xa1b23c4d, 1_000_000_000],
  ] as const)('in %s is read in both byte orders and at any cut', async (_, magic, perSecond) => {
    for (const [, little] of orders) {
      const w = new CaptureWriter(little);
      const times = [7n, 7n + BigInt(perSecond)];
      const bytes = w.classic(
        magic,
        times.map((time) => ({ time, data, original: 99 })),
        0x2400_0001,
      );
      const { frames: found, summary } = await frames(bytes, [11]);
      expect(found.map((f) => f.time)).toEqual([
        { seconds: 0, rest: 7, perSecond },
        { seconds: 1, rest: 7, perSecond },
      ]);
      expect(found[0]).toMatchObject({ captured: 61, original: 99, direction: 'unknown', data });
      expect(summary).toMatchObject({
        format: 'pcap',
        interfaces: [{ linkType: 1, frameCheckBytes: 4 }],
      });
      expect(summary.traffic.span).toEqual(rational(1));
      for (let cut = 4; cut < bytes.length; cut += 1) {
        const { summary: part } = await frames(bytes.subarray(0, cut));
        const whole = part.readBytes === cut && cut >= 24;
        expect(part.findings.some((f) => f.id === 'evidence-cut')).toBe(!whole);
      }
    }
  });
});

describe('what is no capture', () => {
  test.each([
    ['nothing', new Uint8Array(0), 'empty-evidence'],
    ['three bytes', Uint8Array.of(10, 13, 13), 'not-capture'],
    ['text', new TextEncoder().encode('size,time\n'), 'not-capture'],
    ['compressed bytes', Uint8Array.of(0x1f, 0x8b, 8, 0, 0), 'not-capture'],
  ])('%s is refused with help', async (_, bytes, code) => {
    const summary = await readCapture([bytes], { file: 'c' });
    expect(summary.problems).toMatchObject([{ code }]);
    expect(summary.format).toBe('unknown');
  });

  test('is told from captures by its first bytes', () => {
    expect(evidenceKind(sample(true))).toBe('capture');
    expect(evidenceKind(new CaptureWriter(false).classic(0xa1b2c3d4, []))).toBe('capture');
    expect(evidenceKind(new TextEncoder().encode('size'))).toBe('table');
    expect(evidenceKind(new Uint8Array(0))).toBe('table');
  });
});
