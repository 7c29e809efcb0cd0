/** Register dumps read: every form, and whatever is wrong with it. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { dumpOf } from '../../src/engine/index.ts';
import {
  addressText,
  type ConfigDump,
  dumpFindingIds,
  readConfigFolder,
  readConfigSpaces,
} from '../../src/readers/dump/index.ts';
import { pieces, whole } from './bytes.ts';

const read = (text: string) => readConfigSpaces(whole(text), { file: 'dump.txt' });
const hex = (n: number, digits: number) => n.toString(16).padStart(digits, '0');

/** Bytes that tell their offset. */
function pattern(count: number, salt = 0): Uint8Array {
  return Uint8Array.from({ length: count }, (_, i) => (i * 7 + (i >> 8) + salt) & 0xff);
}

function rows(bytes: Uint8Array, digits = 2): string {
  let text = '';
  for (let at = 0; at < bytes.length; at += 16) {
    const row = [...bytes.subarray(at, at + 16)].map((b) => hex(b, 2)).join(' ');
    text += `${hex(at, digits)}: ${row}\n`;
  }
  return text;
}

const ids = (dump: ConfigDump) => dump.findings.map((f) => f.id);
const addresses = (dump: ConfigDump) =>
  dump.functions.map((f) => (f.address === undefined ? undefined : addressText(f.address)));

describe('listings', () => {
  test.each([64, 256, 4096])('%i bytes a function, many functions, text between', async (size) => {
    const [a, b] = [pattern(size), pattern(size, 3)];
    const text =
      `# taken at noon\n00:1c.0 PCI bridge: something (rev f1)\n\tControl: I/O+ Mem+\n${rows(a)}\n` +
      `10000:e1:1f.7 Class 0108\n  prose: beef\n${rows(b, 3)}`;
    const dump = await read(text);
    expect(dump.findings).toEqual([]);
    expect(dump.format).toBe('listing');
    expect(addresses(dump)).toEqual(['0000:00:1c.0', '10000:e1:1f.7']);
    expect(dump.functions.map((f) => f.bytes)).toEqual([a, b]);
    expect(dump.functions.map((f) => f.place.line)).toEqual([2, 5 + size / 16]);
  });

  test('line ends of any kind, capitals, tabs, trailing blanks, in pieces of any size', async () => {
    const bytes = pattern(256);
    const text = `0000:01:00.0 X\n${rows(bytes)}`.toUpperCase();
    const messy = text.replaceAll('\n', ' \r\n').replaceAll(': ', ':\t');
    for (const size of [1, 7, 64, 5000]) {
      const chunks = pieces(new TextEncoder().encode(messy), [size]);
      const dump = await readConfigSpaces(chunks, { file: 'd' });
      expect(dump.findings).toEqual([]);
      expect(dump.functions[0]!.bytes).toEqual(bytes);
    }
  });

  test('the text column of a hexadecimal viewer, with or without a colon', async () => {
    const bytes = pattern(64);
    const row = (at: number) => [...bytes.subarray(at, at + 16)].map((b) => hex(b, 2));
    const viewer = [0, 16, 32, 48].map((at) => {
      const cells = row(at);
      return `${hex(at, 8)}  ${cells.slice(0, 8).join(' ')}  ${cells.slice(8).join(' ')}  |..ab cd.........|`;
    });
    const dump = await read(`01:00.0 x\n${viewer.join('\n')}\n00000040\n`);
    expect(dump.findings).toEqual([]);
    expect(dump.functions[0]!.bytes).toEqual(bytes);
  });

  test('a row that is missing leaves a gap, and later rows are kept', async () => {
    const bytes = pattern(256);
    const text = rows(bytes).split('\n');
    text.splice(3, 2);
    const dump = await read(`00:00.0 x\n${text.join('\n')}`);
    expect(ids(dump)).toEqual(['dump-bytes-missing']);
    expect(dump.findings[0]!.message).toContain('0x30 to 0x4f');
    expect(dump.functions[0]!.gaps).toEqual([{ offset: 0x30, length: 0x20 }]);
    expect(dump.functions[0]!.bytes[0x50]).toBe(bytes[0x50]);
  });

  test('a byte that the writer could not read is unknown, not 0', async () => {
    const dump = await read('00:00.0 x\n00: 86 80 ?? xx 00\n');
    expect(dump.functions[0]!.gaps).toEqual([{ offset: 2, length: 2 }]);
    expect(ids(dump)).toEqual(['dump-bytes-missing', 'dump-short']);
  });

  test.each([
    ['a byte of one digit', '10: 00 1 00', 'line 3: column 8'],
    ['words', '10: 8086 1234', 'line 3: column 5: expected single bytes'],
    ['an offset within a row', '14: 00 00', 'no multiple of 0x10'],
    ['an offset past the end', '1000: 00 00', 'past the end'],
    ['seventeen bytes', `10: ${'00 '.repeat(17)}`, 'at most 16 bytes'],
    ['another row for the same offset', `00: ${'11 '.repeat(16)}`, 'a second time'],
  ])('%s is told with its line', async (_, row, said) => {
    const dump = await read(`00:00.0 x\n00: ${'22 '.repeat(16)}\n${row}\n`);
    const told = dump.findings.filter((f) => f.id === 'dump-row');
    expect(told).toHaveLength(1);
    expect(`${told[0]!.subject}: ${told[0]!.message}`).toContain('line 3');
    expect(`${told[0]!.subject}: ${told[0]!.message}`).toContain(said);
    expect(dump.functions[0]!.bytes[0]).toBe(0x22);
  });

  test('a function twice: alike it is kept once, different twice', async () => {
    const one = `00:00.0 x\n${rows(pattern(64))}\n`;
    const other = `00:00.0 x\n${rows(pattern(64, 1))}\n`;
    expect((await read(one + one)).functions).toHaveLength(1);
    const dump = await read(one + other);
    expect(dump.functions).toHaveLength(2);
    expect(dump.findings.map((f) => [f.id, f.level])).toEqual([['dump-duplicate', 'unknown']]);
  });

  test('rows without a heading, and headings that no function can have', async () => {
    const bare = await read(rows(pattern(64)) + rows(pattern(64, 2)));
    expect(addresses(bare)).toEqual([undefined, undefined]);
    expect(ids(bare)).toEqual(['dump-unnamed', 'dump-unnamed']);
    const wrong = await read(`00:3f.0 x\n${rows(pattern(64))}`);
    expect(addresses(wrong)).toEqual([undefined]);
    expect(wrong.findings[0]!.message).toContain('no device 3f');
    expect(ids(await read('00:01.0 x\n'))).toEqual(['dump-short']);
  });

  test('a listing cut short says where', async () => {
    const dump = await read(`00:00.0 x\n${rows(pattern(256)).slice(0, 500)}`);
    expect(ids(dump)).toContain('dump-short');
    expect(dump.functions[0]!.bytes.length).toBeLessThan(256);
  });
});

describe('images, folders and archives', () => {
  test.each([64, 256, 4096])('an image of %i bytes, named or not', async (size) => {
    const bytes = pattern(size);
    const named = await readConfigSpaces(whole(bytes), { file: 'x/0000:3b:00.1.bin' });
    expect(addresses(named)).toEqual(['0000:3b:00.1']);
    expect(named.functions[0]!.bytes).toEqual(bytes);
    expect(named.findings).toEqual([]);
    const bare = await readConfigSpaces(whole(bytes), { file: 'image' });
    expect([addresses(bare), ids(bare)]).toEqual([[undefined], ['dump-unnamed']]);
  });

  test('bytes that are no image are refused with what was met', async () => {
    const dump = await readConfigSpaces(whole(pattern(5000)), { file: 'x' });
    expect([dump.functions, ids(dump)]).toEqual([[], ['dump-image-size']]);
    expect(dump.problems[0]!.code).toBe('empty-evidence');
    const empty = await readConfigSpaces([], { file: 'x' });
    expect(empty.problems[0]!.code).toBe('empty-evidence');
  });

  const tree: readonly (readonly [string, Uint8Array])[] = [
    ['devices/0000:00:1c.0/config', pattern(4096)],
    ['devices/0000:00:1c.0/current_link_speed', new TextEncoder().encode('8.0 GT/s PCIe\n')],
    ['devices/0000:00:1c.0/0000:01:00.0/config', pattern(64, 9)],
    ['devices/0000:00:1c.0/0000:01:00.0/vendor', new TextEncoder().encode('0x8086\n')],
    ['notes.txt', new TextEncoder().encode('taken on the bench\n')],
  ];
  const expected = ['0000:00:1c.0', '0000:01:00.0'];

  test('a folder as an operating system exposes it; side files are left alone', async () => {
    const files = tree.map(([name, bytes]) => ({ name, chunks: [bytes] }));
    const dump = await readConfigFolder(files, { file: 'devices' });
    expect(addresses(dump)).toEqual(expected);
    expect([dump.findings, dump.filesIgnored, dump.format]).toEqual([[], 3, 'folder']);
  });

  // `tar` is part of every Linux base system; the three formats that GNU tar 1.34 writes by name.
  test.each(['ustar', 'pax', 'gnu'])('the same as a tar archive, %s', async (format) => {
    const folder = mkdtempSync(join(tmpdir(), 'lanewright-tar-'));
    try {
      const deep = `a${'/b'.repeat(60)}`;
      for (const [name, bytes] of tree) {
        const path = join(folder, deep, name);
        mkdirSync(join(path, '..'), { recursive: true });
        writeFileSync(path, bytes);
      }
      const args = ['-C', folder, `--format=${format}`, '--sort=name', '-cf', 'all.tar', 'a'];
      execFileSync('tar', args, { cwd: folder });
      const bytes = new Uint8Array(readFileSync(join(folder, 'all.tar')));
      for (const size of [511, 100_000]) {
        const dump = await readConfigSpaces(pieces(bytes, [size]), { file: 'all.tar' });
        expect([dump.format, dump.findings]).toEqual(['archive', []]);
        expect(addresses(dump).sort()).toEqual(expected);
        expect(dump.functions.find((f) => f.address?.bus === 0)!.bytes).toEqual(pattern(4096));
      }
      const cut = await readConfigSpaces(whole(bytes.subarray(0, 6000)), { file: 'cut.tar' });
      expect(ids(cut)).toContain('dump-file');
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});

describe('whatever comes', () => {
  const fixture = new Uint8Array(
    readFileSync(new URL('../registers/fixtures/conventional.txt', import.meta.url)),
  );

  test('changed and cut listings never throw; what they say has a known id', async () => {
    const changes = fc.array(fc.tuple(fc.nat(fixture.length - 1), fc.nat(255)), { maxLength: 40 });
    await fc.assert(
      fc.asyncProperty(changes, fc.nat(fixture.length), async (list, end) => {
        const bytes = fixture.slice();
        for (const [at, value] of list) bytes[at] = value;
        const document = await dumpOf([bytes.subarray(0, end)], 'changed');
        for (const { id } of document.findings) expect(dumpFindingIds).toContain(id);
        expect(document.functions.length > 0 || document.problems.length > 0).toBe(true);
      }),
      { numRuns: 60 },
    );
  });

  test('random bytes never throw, however they are cut', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.uint8Array({ maxLength: 6000 }),
        fc.integer({ min: 1, max: 900 }),
        async (bytes, size) => {
          const one = await readConfigSpaces(whole(bytes), { file: 'x' });
          const two = await readConfigSpaces(pieces(bytes, [size]), { file: 'x' });
          expect(two).toEqual(one);
        },
      ),
      { numRuns: 100 },
    );
  });

  test('what is written is what is read', async () => {
    const size = fc.constantFrom(64, 256, 4096);
    const fn = fc.tuple(fc.nat(0xffff), fc.nat(255), fc.nat(31), fc.nat(7), size, fc.nat(255));
    const many = fc.uniqueArray(fn, { maxLength: 6, selector: (f) => f.slice(0, 4).join() });
    await fc.assert(
      fc.asyncProperty(many, async (list) => {
        fc.pre(list.length > 0);
        const text = list.map(([d, b, v, f, n, salt]) => {
          return `${hex(d, 4)}:${hex(b, 2)}:${hex(v, 2)}.${f} x\n${rows(pattern(n, salt))}\n`;
        });
        const dump = await read(text.join(''));
        expect(dump.findings).toEqual([]);
        expect(dump.functions.map((f) => [...f.bytes])).toEqual(
          list.map(([, , , , n, salt]) => [...pattern(n, salt)]),
        );
      }),
      { numRuns: 25 },
    );
  });
});
