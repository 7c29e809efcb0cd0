/** Anything may come as a file: no reader throws, hangs, or keeps more than its bounds. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readCapture, readPacketLog, readTimingTable } from '../../src/readers/index.ts';
import { NOTES_MAX } from '../../src/readers/notes.ts';
import type { ReaderNotes } from '../../src/readers/types.ts';
import { bytesOf, pieces } from './bytes.ts';
import { CaptureWriter, frameOf } from './capture-writer.ts';

const readers = {
  timing: readTimingTable,
  packets: readPacketLog,
  capture: readCapture,
} as const;

function check(notes: ReaderNotes, file: string): void {
  expect(notes.problems.length).toBeLessThanOrEqual(NOTES_MAX);
  expect(notes.findings.length).toBeLessThanOrEqual(NOTES_MAX);
  for (const { place, expected, got, next } of notes.problems) {
    expect(place.file).toBe(file);
    expect(place.line >= 1 && place.column >= 1).toBe(true);
    for (const text of [expected, got, next]) {
      expect(text).not.toBe('');
      expect(text.length).toBeLessThan(1200);
    }
  }
}

async function readAll(bytes: Uint8Array, sizes: readonly number[]): Promise<void> {
  for (const read of Object.values(readers))
    check(await read(pieces(bytes, sizes), { file: 'f' }), 'f');
}

const csv = 'size (B),direction,time (us),note\n4096,to host,"6.8",a\n"8192",read,1e1,"b\nc"\n';
const json =
  '[{"size (B)": 4096, "time (us)": 6.8, "direction": "to host"},\n{"size (B)": "8 KiB", "time (us)": 9}]';
const jsonLines =
  '{"time (ns)": 1, "bytes": 64, "direction": "rx"}\n{"time (ns)": 2, "bytes": 64}\n';
const w = new CaptureWriter(true);
const samples = [
  bytesOf(csv),
  bytesOf(json),
  bytesOf(jsonLines),
  w.file(
    w.section(),
    w.interface([
      [2, bytesOf('lan')],
      [9, Uint8Array.of(9)],
    ]),
    w.enhanced({ time: 5n, data: frameOf(0x0800, 33), direction: 1 }),
    w.simple(frameOf(0x0800, 20)),
    w.statistics(1n, 2n),
  ),
  w.classic(0xa1b2c3d4, [{ time: 5n, data: frameOf(0x0800, 33) }]),
];
const sizes = fc.array(fc.integer({ min: 1, max: 40 }), { minLength: 1, maxLength: 3 });

describe('no reader throws or loses its bounds', () => {
  test('on random bytes', async () => {
    await fc.assert(fc.asyncProperty(fc.uint8Array({ maxLength: 300 }), sizes, readAll), {
      numRuns: 300,
    });
  });

  test('on text made of the marks that matter', async () => {
    const unit = fc.constantFrom(
      ...['"', ',', '\n', '\r', '{', '}', '[', ']', ':', '\\', '#', ';', '\t', ' ', '1', '.', '-'],
      ...['size', 'time (us)', '"rows"', 'bytes', 'direction', 'e', 'µ', '\ufeff', '1e9', 'null'],
    );
    const text = fc.string({ unit, maxLength: 60 }).map(bytesOf);
    await fc.assert(fc.asyncProperty(text, sizes, readAll), { numRuns: 250 });
  });

  test('on files cut at every offset', async () => {
    for (const bytes of samples) {
      for (let cut = 0; cut < bytes.length; cut += 1) await readAll(bytes.slice(0, cut), [64]);
    }
  });

  test('on files with any bits turned', async () => {
    const flip = fc.record({ at: fc.nat(), bit: fc.integer({ min: 0, max: 7 }) });
    const flips = fc.array(flip, { minLength: 1, maxLength: 4 });
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...samples), flips, sizes, async (sample, all, cut) => {
        const bytes = sample.slice();
        for (const { at, bit } of all) bytes[at % bytes.length]! ^= 1 << bit;
        await readAll(bytes, cut);
      }),
      { numRuns: 250 },
    );
  });

  test('on a capture with every byte of its blocks at its extremes', async () => {
    const sample = samples[3]!;
    for (let at = 0; at < sample.length; at += 1) {
      for (const value of [0, 0xff]) {
        const bytes = sample.slice();
        bytes[at] = value;
        check(await readCapture([bytes], { file: 'f' }), 'f');
      }
    }
  });
});

describe('long inputs of one kind are read in a time that grows with their length', () => {
  const long = 1 << 19;
  test.each<[string, string]>([
    ['one line', 'x'],
    ['blanks', ' '],
    ['quotes', '"'],
    ['brackets', '['],
    ['braces', '{'],
    ['delimiters', ','],
    ['line ends', '\n'],
    ['returns', '\r'],
    ['comments', '#\n'],
    ['escapes', '\\'],
    ['open quotes', '"\n'],
    ['digits', '9'],
  ])('%s', async (_, unit) => {
    const text = unit.repeat(long / unit.length);
    for (const head of [
      '',
      'size (B),time (us)\n',
      '[{"size (B)": 1, "time (us)": ',
      '{"rows": [',
    ]) {
      await readAll(bytesOf(head + text), [65_536]);
    }
  });
});
