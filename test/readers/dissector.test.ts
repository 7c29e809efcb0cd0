/**
 * Captures read beside a general packet dissector of the Debian archive (package tshark): the same
 * files, frame by frame. Skipped where it is not installed.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { add, rational, toDecimal } from '../../src/quantity/index.ts';
import { type CapturedFrame, captureFrames } from '../../src/readers/index.ts';
import { pieces } from './bytes.ts';
import { CaptureWriter, frameOf, type WrittenFrame } from './capture-writer.ts';

const tool = 'tshark';

function present(): boolean {
  try {
    execFileSync(tool, ['--version'], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
}

/** Time, wire length, captured length, interface, direction, EtherType of each frame. */
const columns = [
  'frame.time_epoch',
  'frame.len',
  'frame.cap_len',
  'frame.interface_id',
  'frame.packet_flags_direction',
  'eth.type',
];

function run(args: readonly string[]): string {
  return execFileSync(tool, args, {
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'ignore'],
    env: { ...process.env, TZ: 'UTC', LC_ALL: 'C' },
  });
}

const directions = { unknown: '0', inbound: '1', outbound: '2' } as const;

/** A time as the dissector writes it: nanoseconds, what is finer dropped. */
function nanoseconds({ time }: CapturedFrame): string {
  if (time === undefined) return '';
  const exact = add(rational(time.seconds), rational(time.rest, time.perSecond));
  const whole = (exact.n * 1_000_000_000n) / exact.d;
  return toDecimal(rational(whole, 1_000_000_000n), 30);
}

function number(text: string): string {
  const value = /^([0-9]+)(?:\.([0-9]+))?$/.exec(text);
  if (value === null) return text;
  const fraction = (value[2] ?? '').replace(/0+$/, '');
  return fraction === '' ? value[1]! : `${value[1]}.${fraction}`;
}

async function ours(bytes: Uint8Array): Promise<string[][]> {
  const rows: string[][] = [];
  for await (const frame of captureFrames(pieces(bytes, [97]), { file: 'c' })) {
    const type = frame.captured >= 14 ? (frame.data[12]! << 8) | frame.data[13]! : 0;
    rows.push([
      nanoseconds(frame),
      `${frame.original}`,
      `${frame.captured}`,
      `${frame.interface}`,
      directions[frame.direction],
      type >= 0x600 ? `0x${type.toString(16).padStart(4, '0')}` : '',
    ]);
  }
  return rows;
}

function theirs(path: string): string[][] {
  const text = run(['-n', '-r', path, '-T', 'fields', ...columns.flatMap((c) => ['-e', c])]);
  return text
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => {
      const [time = '', length = '', captured = '', id = '', way = '', type = ''] =
        line.split('\t');
      return [
        number(time),
        length,
        captured,
        id === '' ? '0' : id,
        way === '' ? '0' : `${Number(way)}`,
        type,
      ];
    });
}

const epoch = 1_700_000_000n;
/** Experimental EtherType of IEEE 802: the dissector looks no further into it. */
const EXPERIMENTAL = 0x88b5;

function frames(perSecond: bigint, interfaces: number): WrittenFrame[] {
  return Array.from({ length: 24 }, (_, i) => {
    const length = 60 + 37 * (i % 9);
    return {
      interface: i % interfaces,
      time: epoch * perSecond + (BigInt(i) * perSecond * 7919n) / 104_729n,
      data: frameOf(EXPERIMENTAL, length),
      ...(i % 4 === 0 && { original: length + 900 }),
      ...(i % 3 !== 0 && { direction: i % 3 }),
    };
  });
}

function pcapng(little: boolean, resolution: number, perSecond: bigint): Uint8Array {
  const w = new CaptureWriter(little);
  const one = w.interface([[9, Uint8Array.of(resolution)]]);
  const shifted = w.interface([
    [9, Uint8Array.of(resolution)],
    [14, w.fields([8, 86_400n])],
  ]);
  const names = w.block(4, w.fields([2, 0], [2, 0]));
  const packets = frames(perSecond, 2).map((f) => w.enhanced(f));
  return w.file(w.section(), one, shifted, names, ...packets, w.statistics(24n, 0n));
}

describe.skipIf(!present())('captures beside a dissector', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'lanewright-capture-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const files: readonly (readonly [string, Uint8Array])[] = [
    ['pcapng, little-endian, ns', pcapng(true, 9, 10n ** 9n)],
    ['pcapng, big-endian, ns', pcapng(false, 9, 10n ** 9n)],
    ['pcapng, µs', pcapng(true, 6, 10n ** 6n)],
    ['pcapng, 2^-20 s', pcapng(true, 0x80 | 20, 2n ** 20n)],
    ['classic, µs', new CaptureWriter(true).classic(0xa1b2c3d4, frames(10n ** 6n, 1))],
    ['classic, big-endian, ns', new CaptureWriter(false).classic(0xa1b23c4d, frames(10n ** 9n, 1))],
  ];

  test.each(files)('%s: every frame alike', async (name, bytes) => {
    const path = join(folder, 'made.cap');
    writeFileSync(path, bytes);
    const read = await ours(bytes);
    expect(read).toHaveLength(24);
    const expected = name.startsWith('classic') ? read.map((r) => r.with(4, '0')) : read;
    expect(theirs(path)).toEqual(expected);
  });

  test('a pcapng file that the dissector wrote is read alike', async () => {
    const from = join(folder, 'from.cap');
    const to = join(folder, 'to.pcapng');
    writeFileSync(from, new CaptureWriter(true).classic(0xa1b23c4d, frames(10n ** 9n, 1)));
    run(['-n', '-r', from, '-F', 'pcapng', '-w', to]);
    const read = await ours(readFileSync(to));
    expect(read).toHaveLength(24);
    expect(theirs(to)).toEqual(read);
  });
});
