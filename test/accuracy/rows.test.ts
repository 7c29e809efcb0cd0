/** The table of rows refuses what it cannot use, and the statistics are those of the textbook. */
import { expect, test } from 'vitest';
import { measuredFolder } from './page.ts';
import { median, type Result, summaryOf } from './results.ts';
import { pathOf, rowsOf, tableOf } from './rows.ts';
import { systems } from './systems.ts';
import { markdownTable, megabytes, signed } from './table.ts';

test('a line of the table changes the values at its columns and no others', () => {
  const rows = rowsOf(measuredFolder, 'server-nic');
  const [named, other] = [
    rows[1]!,
    rows.find((r) => r.source.text.includes('host 3 513 B write'))!,
  ];
  const changed = other.source.text
    .split('\n')
    .filter((line, i) => line !== named.source.text.split('\n')[i]);
  expect(named.source.file).toBe('server-nic/write.yaml');
  expect(changed.map((line) => line.trim())).toEqual([
    'title: host 3 513 B write',
    'rate: 46.112 Gb/s',
    'transfer: { size: 513 B }',
    '- rate: 46.112 Gb/s',
  ]);
});

test('comments are passed over, lines with too few values are not', () => {
  expect(tableOf('t.csv', '# a\ncase,title\nx.yaml,one\n')).toEqual([
    new Map([
      ['case', 'x.yaml'],
      ['title', 'one'],
    ]),
  ]);
  expect(() => tableOf('t.csv', 'case,title\nx.yaml\n')).toThrow('2 values in row 1');
  expect(() => tableOf('t.csv', 'case,title\nx.yaml,\n')).toThrow('2 values in row 1');
  expect(() => tableOf('t.csv', 'title\nx\n')).toThrow("begins with 'case'");
});

test('a column is a path, list items by number', () => {
  expect(pathOf('streams.0.transfer.size')).toEqual(['streams', 0, 'transfer', 'size']);
});

test('a summary is of the sound rows alone', () => {
  const row = (expected: number, standing: Result['standing']) =>
    ({ measured: 100, expected, low: 90, high: 110, standing, system: systems[0] }) as Result;
  const some = [
    row(110, 'within'),
    row(80, 'below expectation'),
    row(105, 'within'),
    row(1, 'impossible as stated'),
  ];
  const { rows, impossible, sound } = summaryOf(some);
  expect([rows, impossible]).toEqual([4, 1]);
  expect(sound?.median).toBeCloseTo(0.1, 12);
  expect(sound?.worst.expected).toBe(80);
  expect(sound?.inside).toBeCloseTo(2 / 3, 12);
  expect(sound?.width).toBeCloseTo((20 / 110 + 20 / 80 + 20 / 105) / 3, 12);
  expect(summaryOf([some[3]!])).toEqual({ rows: 1, impossible: 1 });
  expect(median([4, 1, 3, 2])).toBe(2.5);
  expect(() => median([])).toThrow(RangeError);
});

test('numbers carry sensible digits and true signs', () => {
  expect([megabytes(97.04e6), megabytes(1507.6e6)]).toEqual(['97.0', '1508']);
  expect([signed(-0.0479), signed(1.315), signed(-0.0001)]).toEqual([
    '−4.8 %',
    '+131.5 %',
    '0.0 %',
  ]);
  expect(markdownTable(['a', 'b'], [['x', '−1.5 %']])).toBe(
    '| a | b |\n| --- | --: |\n| x | −1.5 % |',
  );
});
