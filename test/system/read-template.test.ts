import fc from 'fast-check';
import { expect, test } from 'vitest';
import { newCaseText, setInText } from '../../src/system/read/index.ts';
import { good, read } from './read-files.ts';

const full = {
  title: 'A question',
  module: 'sounder-xmc',
  options: { cooling: 'air', width: 'narrow' },
  carrier: { part: 'carrier-vpx', site: 'A' },
  host: 'recorder',
  slot: 'bay-3',
  switches: ['switch-eight'],
  partsFolder: './parts',
};

test('a new case reads as it stands, with all parts or with a module alone', () => {
  const value = good(read(newCaseText(full)));
  expect(value.module.cooling.value).toBe('air');
  expect(value.carrier?.siteName).toBe('A');
  expect(value.switches.map((s) => s.id)).toEqual(['switch-eight']);
  const alone = good(read(newCaseText({ title: 'Desk', module: 'sounder-xmc' })));
  expect(alone.carrier).toBeUndefined();
  expect(alone.streams[0]?.name).toBe('stream 1');
});

test('everything the comments offer reads too, once the marks are taken away', () => {
  const uncommented = newCaseText(full)
    .replaceAll(/^( *)#( +)(?=- |[A-Za-z_]+:)/gm, (_, indent, gap) => indent + gap.slice(1))
    .replace('rate: 100 MB/s', 'rate: 32 MB/s')
    .replace('average: 80 MB/s', 'average: 25.6 MB/s')
    .replace('block_header: {size: 64 B, every: 4096 B}', '');
  const value = good(read(uncommented));
  expect(value.settings.width?.value).toBe(4);
  expect(value.settings.Max_Read_Request_Size?.value.text).toBe('512 B');
  expect(value.streams[0]).toHaveProperty('front_end');
  expect(value.streams[0]).toHaveProperty('weight');
  expect(value.streams[0]?.measured).toHaveLength(1);
  expect(value.settings.bit_error_ratio?.value.text).toBe('1e-12');
  expect(value.streams[0]?.stages.map((s) => s.name)).toEqual(['sample memory', 'disk']);
  expect(value.neighbours.map((n) => n.at.value)).toEqual(['switch-eight']);
});

test('titles of any kind are carried', () => {
  const printable = fc.string({ unit: 'grapheme', minLength: 1, maxLength: 40 });
  fc.assert(
    fc.property(printable, (title) => {
      if (title.trim() !== title || /[\p{C}\u2028\u2029]/u.test(title)) return;
      expect(good(read(newCaseText({ ...full, title }))).title).toBe(title);
    }),
    { numRuns: 60 },
  );
});

test('a new case can be edited', () => {
  const text = setInText(newCaseText(full), ['settings', 'width'], 'x1');
  expect(good(read(text)).settings.width?.value).toBe(1);
});
