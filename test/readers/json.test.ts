import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readTimingTable } from '../../src/readers/index.ts';
import { readJsonRow } from '../../src/readers/json-row.ts';
import { asText, bytesOf, pieces, whole } from './bytes.ts';

const begin = { line: 1, column: 1 };

describe('one row of JSON', () => {
  test('agrees with JSON.parse on flat objects', () => {
    const scalar = fc.oneof(fc.string(), fc.double({ noNaN: true }), fc.boolean(), fc.integer());
    const object = fc.dictionary(fc.string({ unit: 'binary' }), scalar, { maxKeys: 6 });
    fc.assert(
      fc.property(object, (row) => {
        const text = JSON.stringify(row, null, 1);
        const read = readJsonRow(text, begin);
        const parsed = Object.entries(JSON.parse(text) as Record<string, unknown>);
        if (!read.ok) throw new Error(read.expected);
        const cells = read.cells.map((c) => [c.name, c.text]);
        const trimmed = (v: unknown) => (typeof v === 'string' ? v.trim() : JSON.stringify(v));
        expect(cells).toEqual(parsed.map(([k, v]) => [k.trim(), trimmed(v)]));
      }),
      { numRuns: 50 },
    );
  });

  test('takes no flat text that JSON.parse refuses', () => {
    const unit = fc.constantFrom('{', '}', '"', ':', ',', '1', '.', 'e', '-', '0', 'a', '\\', ' ');
    fc.assert(
      fc.property(fc.string({ unit, maxLength: 14 }), (inner) => {
        const text = `{${inner}`;
        if (readJsonRow(text, begin).ok) expect(() => JSON.parse(text)).not.toThrow();
      }),
      { numRuns: 3000 },
    );
  });

  test.each([
    ['{"a": 01}', 8, "',' or '}'"],
    ['{"a": .5}', 7, 'a text in quotes, a number, true, false or null'],
    ["{'a': 1}", 2, 'a name in quotes'],
    ['{"a": 1,}', 9, 'a name in quotes'],
    ['{"a": [1]}', 7, 'a text in quotes, a number, true, false or null'],
    ['{"a": 1, "a": 2}', 10, 'a name once in a row'],
    ['{"a": "\\x"}', 8, 'an escape of JSON, such as \\n or \\u00b5'],
  ])('%s is refused at column %i', (text, column, expected) => {
    expect(readJsonRow(text, begin)).toMatchObject({ ok: false, at: { column }, expected });
  });

  test('the text of a number is kept to the last digit', () => {
    const row = readJsonRow('{"a": 0.10000000000000000001}', begin);
    expect(row.ok && row.cells[0]!.text).toBe('0.10000000000000000001');
  });
});

const rows = [
  '{"size (B)": 4096, "time (us)": 6.8, "direction": "to host"}',
  '{"size (B)": 8192, "time (us)": 13.5, "direction": "to host"}',
];
const forms: Readonly<Record<string, string>> = {
  'JSON Lines': rows.join('\n'),
  'a list': `[\n${rows.join(',\n')}\n]\n`,
  'a list on one line': `[${rows.join(', ')}]`,
  'an object with rows': `{"title": "a [b] \\" {c", "by": {"x": [1]}, "rows": [${rows.join(',')}], "z": 1}`,
  'lists below a list of names':
    '["size (B)", "time (us)", "direction"]\n[4096, 6.8, "to host"]\n[8192, 13.5, "to host"]',
  'a list of lists':
    '[["size (B)", "time (us)", "direction"],\n[4096, 6.8, "to host"], [8192, 13.5, "to host"]]',
};

describe('a table in JSON', () => {
  test.each(Object.entries(forms))('%s gives the rows, however it is cut', async (_, text) => {
    const seen = new Set<string>();
    for (const size of [1, 7, 1000]) {
      const table = await readTimingTable(pieces(bytesOf(text), [size]), { file: 't.json' });
      expect(table.problems).toEqual([]);
      expect(table.ambiguities).toEqual([]);
      expect(table.rows.map((r) => r.size.quantity!.expected.n)).toEqual([32_768n, 65_536n]);
      seen.add(asText(table));
    }
    expect(seen.size).toBe(1);
  });

  test('a wrong row is a problem with its place, and the others are read', async () => {
    const text = `[${rows[0]},\n {"size (B)": oops},\n ${rows[1]}]`;
    const table = await readTimingTable(whole(text), { file: 't.json' });
    expect(table.rows).toHaveLength(2);
    expect(table.problems).toMatchObject([{ code: 'bad-json', place: { line: 2, column: 15 } }]);
  });

  test('a file cut short gives the rows in front of the cut and says where', async () => {
    const text = `[${rows[0]},\n {"size (B)": 81`;
    const table = await readTimingTable(whole(text), { file: 't.json' });
    expect(table.rows).toHaveLength(1);
    expect(table.problems).toMatchObject([{ code: 'truncated', place: { line: 2, column: 2 } }]);
  });

  test('an object without rows is told so', async () => {
    const table = await readTimingTable(whole('{\n"a": [1, 2],\n"b": 3\n}'), { file: 't.json' });
    expect(table.problems).toMatchObject([{ code: 'bad-json', place: { line: 4, column: 1 } }]);
  });
});
