import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { GrowingFile } from '../../src/io/index.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lanewright-grow-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

test('the file appears whole, in order, and only when it is kept', async () => {
  const path = join(folder, 'series.csv');
  const file = await GrowingFile.begin(path, { beginning: 'seconds' });
  let all = 'seconds,µ\n';
  file.append(all);
  for (let i = 0; i < 40_000; i++) {
    file.append(`${i}\n`);
    all += `${i}\n`;
  }
  expect(readdirSync(folder)).not.toContain('series.csv');
  file.keep();
  file.drop();
  expect(readFileSync(path, 'utf8')).toBe(all);
  expect(readdirSync(folder)).toEqual(['series.csv']);
});

test('nothing is left of one that is dropped, and what was there before stays', async () => {
  const path = join(folder, 'series.csv');
  writeFileSync(path, 'seconds,old\n');
  const file = await GrowingFile.begin(path, { beginning: 'seconds' });
  file.append('new');
  file.drop();
  expect(readdirSync(folder)).toEqual(['series.csv']);
  expect(readFileSync(path, 'utf8')).toBe('seconds,old\n');
});

test('refuses to write over a file of another kind, and where no folder is', async () => {
  const path = join(folder, 'case.yaml');
  writeFileSync(path, 'lanewright: case/1\n');
  await expect(GrowingFile.begin(path, { beginning: 'seconds' }, 'shown')).rejects.toMatchObject({
    problems: [{ code: 'would-overwrite', place: { file: 'shown' } }],
  });
  await expect(GrowingFile.begin(join(folder, 'no', 'x.csv'), 'always')).rejects.toMatchObject({
    problems: [{ code: 'file-unwritable' }],
  });
  const taken = join(folder, 'taken');
  const file = await GrowingFile.begin(taken, 'always');
  mkdirSync(taken);
  expect(() => file.keep()).toThrow(/file-unwritable/);
  expect(readdirSync(folder).sort()).toEqual(['case.yaml', 'taken']);
});
