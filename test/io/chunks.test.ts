/** Files in pieces: all bytes in order, friendly problems, nothing left open. */
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { fileChunks } from '../../src/io/index.ts';
import { InputError } from '../../src/model/problem.ts';

let folder: string;
const bytes = Uint8Array.from({ length: 200_000 }, (_, i) => i % 251);
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'lanewright-chunks-'));
  writeFileSync(join(folder, 'long.csv'), bytes);
  writeFileSync(join(folder, 'empty.csv'), '');
});
afterAll(() => rmSync(folder, { recursive: true }));

async function all(name: string): Promise<Uint8Array[]> {
  const pieces: Uint8Array[] = [];
  for await (const piece of fileChunks(join(folder, name), name)) pieces.push(piece);
  return pieces;
}

test('the pieces of a file are its bytes, in order, none of them long', async () => {
  const pieces = await all('long.csv');
  expect(pieces.length).toBeGreaterThan(1);
  expect(Math.max(...pieces.map((p) => p.length))).toBeLessThanOrEqual(65_536);
  expect(Buffer.concat(pieces).equals(Buffer.from(bytes))).toBe(true);
  expect(await all('empty.csv')).toEqual([]);
});

test.each([
  ['absent.csv', 'file-missing'],
  ['.', 'file-is-folder'],
  ['long.csv/inside', 'file-missing'],
])('%s is %s, under the name shown', async (name, code) => {
  const error = await all(name).catch((e: unknown) => e);
  expect(error).toBeInstanceOf(InputError);
  const [problem] = (error as InputError).problems;
  expect(problem).toMatchObject({ code, place: { file: name } });
});

test('the hint for a missing file names the evidence beside it', async () => {
  const error = (await all('absent.csv').catch((e: unknown) => e)) as InputError;
  expect(error.problems[0]!.next).toBe('check the name; its folder holds empty.csv, long.csv');
});

test.skipIf(process.platform !== 'linux')('leaving early closes the file', async () => {
  const open = () => readdirSync('/proc/self/fd').length;
  const before = open();
  for (let i = 0; i < 20; i += 1) {
    for await (const _ of fileChunks(join(folder, 'long.csv'))) break;
  }
  expect(open()).toBeLessThanOrEqual(before + 2);
});
