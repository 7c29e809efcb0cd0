import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DelimitedReader } from '../../src/readers/delimited.ts';
import { LineAssembler } from '../../src/readers/lines.ts';
import { Notes } from '../../src/readers/notes.ts';
import { placeOf, type RecordSink, type TableRecord } from '../../src/readers/record.ts';

function read(text: string, delimiter = ',') {
  const notes = new Notes('t.csv');
  const records: TableRecord[] = [];
  const sink: RecordSink = {
    names: (r) => records.push(r),
    record: (r) => records.push(r),
    column: () => undefined,
    done: false,
  };
  const reader = new DelimitedReader({ delimiter, header: true }, sink, notes);
  const lines = new LineAssembler(reader);
  lines.push(text);
  lines.end();
  reader.end();
  return { records, texts: records.map((r) => r.texts), ...notes.result() };
}

describe('delimited text', () => {
  // RFC 4180, section 2, rules 2, 5, 6 and 7.
  test.each([
    [
      'aaa,bbb,ccc\nzzz,yyy,xxx',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '"aaa","bbb","ccc"\nzzz,yyy,xxx',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '"aaa","b\nbb","ccc"\nzzz,yyy,xxx',
      [
        ['aaa', 'b\nbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    ['"aaa","b""bb","ccc"', [['aaa', 'b"bb', 'ccc']]],
  ])('is read as RFC 4180 has it: %j', (text, expected) => {
    const { texts, problems } = read(text);
    expect(texts).toEqual(expected);
    expect(problems).toEqual([]);
  });

  test('what is written by its rules is read back', () => {
    const cell = fc
      .string({ unit: fc.constantFrom('a', '1', '"', ',', '\n', ' ', '#'), maxLength: 6 })
      .map((t) => t.trim());
    const row = fc.array(cell, { minLength: 2, maxLength: 4 });
    fc.assert(
      fc.property(fc.array(row, { minLength: 1, maxLength: 8 }), (rows) => {
        const text = rows
          .map((r) => r.map((c) => `"${c.replaceAll('"', '""')}"`).join(','))
          .join('\n');
        const { texts, problems } = read(text);
        expect(problems).toEqual([]);
        expect(texts).toEqual(rows);
      }),
    );
  });

  test('leaves out blank lines and comments, and counts them as lines', () => {
    const { records } = read('# made by hand\n\n \t\na,b\n# later\n1,2\n');
    expect(records.map((r) => [r.at.line, r.texts])).toEqual([
      [4, ['a', 'b']],
      [6, ['1', '2']],
    ]);
  });

  test('knows the column of each cell, blanks and quotes apart', () => {
    const { records } = read('a,  bb,,c\n "x" ,"y, z",  w\n');
    const [plain, quoted] = records;
    expect([0, 1, 2, 3].map((i) => placeOf(plain!, i).column)).toEqual([1, 5, 8, 9]);
    expect([0, 1, 2].map((i) => placeOf(quoted!, i).column)).toEqual([2, 7, 16]);
    expect(quoted!.texts).toEqual(['x', 'y, z', 'w']);
  });

  test('a tab between cells keeps empty ones', () => {
    expect(read('a\t\tc\n"x"\t\ty\n', '\t').texts).toEqual([
      ['a', '', 'c'],
      ['x', '', 'y'],
    ]);
  });

  test('a quote that is never closed spoils its own line only', () => {
    const { texts, problems } = read('a,b\n1,"2\n3,4\n5,6\n');
    expect(texts).toEqual([
      ['a', 'b'],
      ['3', '4'],
      ['5', '6'],
    ]);
    expect(problems).toMatchObject([{ code: 'bad-quotes', place: { line: 2, column: 3 } }]);
  });

  test('text behind a closing quote is a problem with its column', () => {
    const { texts, problems } = read('a,b\n"1"x,2\n3,4\n');
    expect(texts).toEqual([
      ['a', 'b'],
      ['3', '4'],
    ]);
    expect(problems).toMatchObject([{ code: 'bad-quotes', place: { line: 2, column: 4 } }]);
  });

  test('a quote that stays open over many lines of quotes costs its own line, in bounded time', () => {
    const { texts, problems } = read(`a,b\n1,"\n${'""\n'.repeat(20_000)}2,3\n`);
    expect(problems).toMatchObject([{ code: 'bad-quotes', place: { line: 2, column: 3 } }]);
    expect(texts.at(-1)).toEqual(['2', '3']);
    expect(texts).toHaveLength(20_002);
  });
});
