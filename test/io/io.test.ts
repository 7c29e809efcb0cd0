import { execFileSync } from 'node:child_process';
import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import {
  decodeText,
  firstBadByte,
  readFolder,
  readStream,
  readText,
  relativeName,
  TEXT_BYTES_MAX,
  writeText,
} from '../../src/io/index.ts';
import { InputError } from '../../src/model/problem.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lanewright-io-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

async function problemOf(work: Promise<unknown>) {
  const error = await work.then(
    () => undefined,
    (e: unknown) => e,
  );
  expect(error).toBeInstanceOf(InputError);
  return (error as InputError).problems[0]!;
}

describe('UTF-8', () => {
  // The platform's own decoder (WHATWG Encoding, fatal) is the reference for what is well formed.
  test('a bad byte is found exactly when the platform decoder refuses the text', () => {
    const bytes = fc.oneof(
      fc.uint8Array({ maxLength: 24 }),
      fc.string({ unit: 'binary' }).map((s) => new TextEncoder().encode(s)),
      fc.constantFrom(
        Uint8Array.of(0xc0, 0x80),
        Uint8Array.of(0xed, 0xa0, 0x80),
        Uint8Array.of(0xf4, 0x90, 0x80, 0x80),
        Uint8Array.of(0xe2, 0x82),
      ),
    );
    fc.assert(
      fc.property(bytes, (text) => {
        const decoder = new TextDecoder('utf-8', { fatal: true });
        const bad = firstBadByte(text);
        if (bad === undefined) expect(() => decoder.decode(text)).not.toThrow();
        else {
          expect(() => decoder.decode(text)).toThrow();
          expect(() => decoder.decode(text.subarray(0, bad.offset))).not.toThrow();
        }
      }),
      { numRuns: 500 },
    );
  });

  test('the place of a bad byte is its line, column and byte offset', () => {
    const bytes = Buffer.concat([
      Buffer.from('titel: Größe\nx: '),
      Buffer.of(0xe4),
      Buffer.from('b'),
    ]);
    expect(firstBadByte(bytes)).toEqual({ offset: 18, line: 2, column: 4, byte: 0xe4 });
    expect(() => decodeText(bytes, 'a.yaml')).toThrow(
      /^a\.yaml:2:4: expected text in UTF-8; got byte 0xe4 at byte offset 18; .*\[not-utf8\]$/,
    );
  });

  test('a byte order mark is dropped', () => {
    expect(decodeText(Buffer.from('\ufeffa: b'), 'a.yaml')).toBe('a: b');
  });
});

describe('reading a file', () => {
  test('gives its text under the name to show', async () => {
    writeFileSync(join(folder, 'a.yaml'), 'a: ü\n');
    expect(await readText(join(folder, 'a.yaml'), 'a.yaml')).toEqual({
      file: 'a.yaml',
      text: 'a: ü\n',
    });
  });

  test('a missing file says what its folder holds instead', async () => {
    writeFileSync(join(folder, 'recorder.yaml'), '');
    const problem = await problemOf(readText(join(folder, 'recoder.yaml'), 'recoder.yaml'));
    expect(problem).toMatchObject({ code: 'file-missing', place: { file: 'recoder.yaml' } });
    expect(problem.next).toContain('recorder.yaml');
    expect(await problemOf(readText(join(folder, 'no', 'a.yaml')))).toMatchObject({
      code: 'file-missing',
    });
  });

  test('a folder in place of a file is refused', async () => {
    expect(await problemOf(readText(folder, 'x'))).toMatchObject({ code: 'file-is-folder' });
  });

  test('the size limit holds to the byte', async () => {
    const path = join(folder, 'a.yaml');
    writeFileSync(path, Buffer.alloc(TEXT_BYTES_MAX, 0x23));
    expect((await readText(path)).text.length).toBe(TEXT_BYTES_MAX);
    writeFileSync(path, Buffer.alloc(TEXT_BYTES_MAX + 1, 0x23));
    expect(await problemOf(readText(path))).toMatchObject({ code: 'file-too-large' });
  });

  test('an endless stream is refused at the same limit, and bad bytes in it are placed', async () => {
    const endless = Readable.from(
      (function* () {
        for (;;) yield Buffer.alloc(65536, 0x23);
      })(),
    );
    expect(await problemOf(readStream(endless))).toMatchObject({
      code: 'file-too-large',
      place: { file: 'standard input' },
    });
    expect(await problemOf(readStream(Readable.from([Buffer.of(0x61, 0xff)])))).toMatchObject({
      code: 'not-utf8',
      place: { line: 1, column: 2 },
    });
  });

  test('a character split between two chunks of a stream stays whole', async () => {
    const [a, b] = [Buffer.of(0xc3), Buffer.of(0xbc)];
    expect((await readStream(Readable.from([a, b]))).text).toBe('ü');
  });

  test.skipIf(process.platform === 'win32')('a pipe is read as a file is', async () => {
    const pipe = join(folder, 'pipe');
    execFileSync('mkfifo', [pipe]);
    const reading = readText(pipe);
    writeFileSync(pipe, 'a: b');
    expect((await reading).text).toBe('a: b');
  });
});

describe('reading a library folder', () => {
  test('gives every .yaml below it in order, hidden ones apart', async () => {
    mkdirSync(join(folder, 'deep', 'er'), { recursive: true });
    mkdirSync(join(folder, '.git'));
    for (const name of ['b.yaml', 'a.yaml', 'note.md', 'deep/er/c.yaml', '.git/d.yaml']) {
      writeFileSync(join(folder, name), name);
    }
    const found = await readFolder(folder, 'mine/');
    expect(found.map((f) => [f.file, f.text])).toEqual([
      ['mine/a.yaml', 'a.yaml'],
      ['mine/b.yaml', 'b.yaml'],
      ['mine/deep/er/c.yaml', 'deep/er/c.yaml'],
    ]);
  });

  test.skipIf(process.platform === 'win32')('a link back to itself does not go round', async () => {
    writeFileSync(join(folder, 'a.yaml'), '');
    symlinkSync(folder, join(folder, 'again'));
    expect(await readFolder(folder, 'x')).toHaveLength(1);
  });

  test('missing folders, files in their place and endless depth are refused', async () => {
    writeFileSync(join(folder, 'a.yaml'), '');
    expect(await problemOf(readFolder(join(folder, 'no'), 'no'))).toMatchObject({
      code: 'folder-missing',
      got: 'no such folder',
    });
    expect(await problemOf(readFolder(join(folder, 'a.yaml'), 'a'))).toMatchObject({
      code: 'folder-missing',
      got: 'a file',
    });
    mkdirSync(join(folder, ...Array.from({ length: 14 }, () => 'd')), { recursive: true });
    expect(await problemOf(readFolder(folder, 'x'))).toMatchObject({ code: 'folder-too-large' });
  });
});

describe('writing', () => {
  test('leaves the whole text and nothing beside it', async () => {
    await writeText(join(folder, 'r.html'), 'text', 'never');
    expect(readdirSync(folder)).toEqual(['r.html']);
    expect(readFileSync(join(folder, 'r.html'), 'utf8')).toBe('text');
  });

  test('writes over a file only when that is allowed', async () => {
    const path = join(folder, 'case.yaml');
    writeFileSync(path, 'my only case');
    const page = { beginning: '<!doctype html>' };
    for (const replace of ['never', page] as const) {
      expect(await problemOf(writeText(path, 'new', replace))).toMatchObject({
        code: 'would-overwrite',
      });
      expect(readFileSync(path, 'utf8')).toBe('my only case');
    }
    await writeText(path, '<!DOCTYPE html>old', 'always');
    await writeText(path, '<!doctype html>new', page);
    expect(readFileSync(path, 'utf8')).toBe('<!doctype html>new');
  });

  test('says why it cannot', async () => {
    const problem = await problemOf(
      writeText(join(folder, 'no', 'r.html'), '', 'always', 'r.html'),
    );
    expect(problem).toMatchObject({ code: 'file-unwritable', got: 'no such folder' });
    expect(await problemOf(writeText(folder, '', 'always'))).toMatchObject({
      code: 'file-unwritable',
      got: 'a folder',
    });
    expect(readdirSync(folder)).toEqual([]);
  });
});

test('names are relative, with slashes', () => {
  expect(relativeName('cases/a.yaml', '.')).toBe('cases/a.yaml');
  expect(relativeName('./cases/../a.yaml', '.')).toBe('a.yaml');
  expect(relativeName(join(folder, 'a.yaml'), folder)).toBe('a.yaml');
  expect(relativeName(folder, join(folder, 'b'))).toBe('..');
  expect(relativeName('.', '.')).toBe('.');
});
