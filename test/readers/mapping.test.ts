import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { checkMapping } from '../../src/readers/index.ts';

const check = (value: unknown) =>
  checkMapping(value, (path) => ({ file: 'case.yaml', line: path.length + 1, column: 1 }));

describe('a mapping', () => {
  test('with every key is taken as it is', () => {
    const mapping = {
      format: 'delimited',
      delimiter: 'semicolon',
      header: true,
      columns: { size: 'block', rate: 3, kind: 'type' },
      units: { size: 'KiB', rate: 'MB/s', time: '8 ns' },
      fixed: { direction: 'to host', width: 'x4', Max_Payload_Size: '128 B', host: 'bench' },
      directions: { read: 'from host' },
      time_of: 'one transfer',
      rate_of: 'each direction',
      ignore: ['note'],
    };
    const checked = check(mapping);
    expect(checked.ok && JSON.parse(JSON.stringify(checked.mapping))).toEqual(mapping);
  });

  test('of texts alone, as a case has them, is the same', () => {
    const checked = check({ header: 'false', columns: { size: '2' }, fixed: { generation: 2 } });
    expect(checked.ok && checked.mapping.header).toBe(false);
    expect(checked.ok && checked.mapping.fixed?.generation).toBe('2');
  });

  test.each<[unknown, number, RegExp]>([
    ['text', 1, /mapping/],
    [{ colums: {} }, 2, /columns/],
    [{ columns: { speed: 'x' } }, 3, /rate/],
    [{ columns: { size: 0 } }, 3, /number from 1/],
    [{ units: { rate: 'MB' } }, 3, /data rate/],
    [{ units: { rate: '0 MB/s' } }, 3, /above 0/],
    [{ units: { time: '1..2 ns' } }, 3, /one unit/],
    [{ fixed: { Max_Payload_Size: '100 B' } }, 3, /128, 256/],
    [{ fixed: { direction: 'read' } }, 3, /to host/],
    [{ directions: { read: 'in' } }, 3, /from host/],
    [{ time_of: 'some' }, 2, /all transfers/],
    [{ header: 'maybe' }, 2, /true or false/],
    [{ ignore: 'x' }, 2, /list/],
  ])('%j is refused at its key, with what would do', (value, line, expected) => {
    const checked = check(value);
    if (checked.ok) throw new Error('expected problems');
    expect(checked.problems).toHaveLength(1);
    expect(checked.problems[0]).toMatchObject({ code: 'bad-mapping', place: { line } });
    expect(checked.problems[0]!.expected).toMatch(expected);
  });

  test('of any shape whatever is checked without throwing', () => {
    fc.assert(
      fc.property(fc.anything(), (value) => {
        check(value);
        check({ columns: value, units: value, fixed: value, directions: value, ignore: value });
      }),
      { numRuns: 300 },
    );
  });
});
