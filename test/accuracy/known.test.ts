/** What reports say of known accuracy is what the published page says. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { knownAccuracy } from '../../src/report/known-accuracy.ts';
import { measuredFolder } from './folders.ts';
import { knownFile, knownText, summaryRows } from './known.ts';

const read = (file: string) => readFileSync(file, 'utf8').replaceAll('\r\n', '\n');
const page = read(`${measuredFolder}/../../docs/accuracy.md`);

test('the constant is the one that the page gives; npm run accuracy writes both', () => {
  expect(read(knownFile)).toBe(knownText(page));
});

test('it has every system of the summary, and all rows together at the end', () => {
  expect(knownAccuracy.map((k) => k.system)).toEqual(summaryRows(page).map((r) => r.system));
  expect(knownAccuracy.at(-1)!.system).toBe('all');
  const [all, ...systems] = knownAccuracy.map((k) => Number(k.rows)).reverse();
  expect(systems.reduce((a, b) => a + b, 0)).toBe(all);
});
