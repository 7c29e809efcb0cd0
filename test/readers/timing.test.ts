import { describe, expect, test } from 'vitest';
import { div, formatQuantity, quantity, rational } from '../../src/quantity/index.ts';
import {
  type EvidenceMapping,
  readTimingTable,
  settleTable,
  standardChoices,
} from '../../src/readers/index.ts';
import { ROWS_MAX } from '../../src/readers/timing.ts';
import { asText, bytesOf, pieces, whole } from './bytes.ts';

const read = (text: string, mapping?: EvidenceMapping) =>
  readTimingTable(whole(text), { file: 't.csv', ...(mapping && { mapping }) });

const codes = (table: { problems: readonly { code: string }[] }) =>
  table.problems.map((p) => p.code);

describe('a timing table', () => {
  test('with units in its names is read exactly', async () => {
    const table = await read(
      'size (B),direction,time_us,rate (Mbit/s),Max_Payload_Size,lanes,gen,host,run\n' +
        '4096,to host,6.83,4800.5,256 B,x4,Gen 2,bench,1\n',
    );
    expect(table.problems).toEqual([]);
    expect(table.findings).toEqual([]);
    expect(table.ambiguities).toEqual([]);
    const [row] = table.rows;
    expect(row).toMatchObject({
      place: { file: 't.csv', line: 2, column: 1 },
      direction: { value: 'to host' },
      settings: { width: 4, generation: 2, host: 'bench' },
      repeat: '1',
    });
    expect(row!.size.quantity!.expected).toEqual(quantity('4096 B').expected);
    expect(row!.time!.quantity!.expected).toEqual(rational(683, 100_000_000));
    expect(row!.rate!.quantity!.expected).toEqual(rational(4_800_500_000));
    expect(row!.settings.Max_Payload_Size!.expected).toEqual(rational(2048));
  });

  const plain = 'size (B),direction,time (us)\n4096,to host,6.83\n8192,to host,13.5\n';
  const kinds: readonly (readonly [string, string])[] = [
    ['a byte order mark', `\ufeff${plain}`],
    ['carriage returns', plain.replaceAll('\n', '\r\n')],
    ['comments and blank lines', `# a\n\n${plain.replace('4096', '# x\n4096')}`],
    ['tabs', plain.replaceAll(',', '\t')],
    ['semicolons', plain.replaceAll(',', ';')],
    ['quotes', plain.replace(/[^,\n]+/g, '"$&"')],
    ['no end of the last line', plain.trimEnd()],
    ['units in its cells', 'size,direction,time\n4 KiB,to host,6.83 us\n8 KiB,to host,0.0135 ms'],
  ];
  test.each(kinds)('with %s is the same table, however it is cut', async (_, text) => {
    for (const size of [1, 5, 10_000]) {
      const table = await readTimingTable(pieces(bytesOf(text), [size]), { file: 't.csv' });
      expect(table.problems).toEqual([]);
      expect(
        table.rows.map((r) => [
          formatQuantity(r.size.quantity!, 'B'),
          formatQuantity(r.time!.quantity!, 'us'),
          r.direction!.value,
        ]),
      ).toEqual([
        ['4096 B', '6.83 us', 'to host'],
        ['8192 B', '13.5 us', 'to host'],
      ]);
    }
  });

  test('never takes MB for one thing: rows are kept, with what each meaning would be', async () => {
    const table = await read(
      'size (B),direction,rate\n4096,to host,600 MB/s\n8192,to host,700 MB/s\n',
    );
    expect(table.rows).toHaveLength(2);
    expect(table.rows[0]!.rate).toMatchObject({ text: '600 MB/s', open: ['rate: MB/s'] });
    expect(table.rows[0]!.rate!.quantity).toBeUndefined();
    expect(table.groups).toEqual([]);
    expect(table.unsettledRows).toBe(2);
    expect(table.ambiguities).toMatchObject([
      { id: 'rate: MB/s', kind: 'unit', cells: 2, place: { line: 2, column: 14 } },
    ]);
    expect(table.findings).toMatchObject([{ id: 'evidence-ambiguous', level: 'unknown' }]);
    const decimal = settleTable(table, standardChoices(table.ambiguities));
    const binary = settleTable(table, { 'rate: MB/s': 'MiB/s' });
    expect(decimal.rows[0]!.rate!.quantity!.expected).toEqual(quantity('600 MB/s').expected);
    expect(binary.rows[0]!.rate!.quantity!.expected).toEqual(quantity('600 MiB/s').expected);
    expect([decimal, binary].map((t) => [t.ambiguities, t.findings, t.unsettledRows])).toEqual([
      [[], [], 0],
      [[], [], 0],
    ]);
    expect(table.ambiguities).toHaveLength(1);
    expect(settleTable(table, { 'rate: MB/s': 'GB/s', other: 'x' })).toBe(table);
  });

  test('without a unit leaves it open, and a mapping that gives it settles it', async () => {
    const text = 'size,direction,rate\n4096,to host,600\n';
    const open = await read(text);
    expect(open.ambiguities.map((a) => [a.id, a.kind])).toEqual([
      ['size: no unit', 'no unit'],
      ['rate: no unit', 'no unit'],
    ]);
    const settled = await read(text, { units: { size: 'B', rate: 'MiB/s' } });
    expect(settled.ambiguities).toEqual([]);
    expect(settled.rows[0]!.rate!.quantity!.expected).toEqual(quantity('600 MiB/s').expected);
    expect(settled.rows[0]!.size.quantity!.expected).toEqual(quantity('4 KiB').expected);
  });

  test('in counts of a clock is read with the time of one count', async () => {
    const table = await read('size (B),direction,time\n4096,to host,1000\n', {
      units: { time: '8 ns' },
    });
    expect(formatQuantity(table.rows[0]!.time!.quantity!)).toBe('8 µs');
  });

  test('leaves open whose reads and writes they are', async () => {
    const text = 'size (B),dir,time (us)\n64,read,1\n64,write,1\n64,read,2\n64,sideways,1\n';
    const open = await read(text);
    expect(open.rows).toHaveLength(4);
    expect(open.ambiguities.map((a) => [a.id, a.cells, a.choices.map((c) => c.id)])).toEqual([
      ['direction: read', 2, ['from host', 'to host']],
      ['direction: write', 1, ['to host', 'from host']],
      ['direction: sideways', 1, ['to host', 'from host', 'both']],
    ]);
    const settled = settleTable(open, { 'direction: read': 'from host' });
    expect(settled.rows.map((r) => r.direction!.value)).toEqual([
      'from host',
      undefined,
      'from host',
      undefined,
    ]);
    const mapped = await read(text, {
      directions: { Read: 'to host', write: 'from host', sideways: 'both' },
    });
    expect(mapped.ambiguities).toEqual([]);
    expect(mapped.rows.map((r) => r.direction!.value)).toEqual([
      'to host',
      'from host',
      'to host',
      'both',
    ]);
  });

  test('with a count of transfers leaves open whose time it is', async () => {
    const text = 'size (B),direction,time (us),transfers\n4096,to host,600,100\n';
    const open = await read(text);
    expect(open.ambiguities).toMatchObject([{ id: 'time of', kind: 'time of' }]);
    expect(open.rows[0]!.time!.quantity).toBeUndefined();
    const time = (t: typeof open) => formatQuantity(t.rows[0]!.time!.quantity!, 'us');
    expect(time(settleTable(open, { 'time of': 'all transfers' }))).toBe('6 us');
    expect(time(settleTable(open, { 'time of': 'one transfer' }))).toBe('600 us');
    expect(time(await read(text, { time_of: 'all transfers' }))).toBe('6 us');
  });

  test('keeps a time open in unit and in count until both are settled, in either order', async () => {
    const open = await read('size (B),direction,time,transfers\n4096,to host,600,100\n');
    const answers = { 'time of': 'all transfers', 'time: no unit': 'us' };
    const once = settleTable(open, answers);
    let stepwise = open;
    for (const [id, choice] of Object.entries(answers)) {
      expect(stepwise.rows[0]!.time!.quantity).toBeUndefined();
      stepwise = settleTable(stepwise, { [id]: choice });
    }
    expect(asText(stepwise)).toBe(asText(once));
    expect(formatQuantity(once.rows[0]!.time!.quantity!, 'us')).toBe('6 us');
  });

  test('of both directions leaves open what the rate counts', async () => {
    const text = 'size (B),direction,rate (Mbit/s)\n4096,both,800\n';
    const open = await read(text);
    expect(open.ambiguities).toMatchObject([{ id: 'rate of' }]);
    expect(open.rateOf).toBeUndefined();
    expect(settleTable(open, { 'rate of': 'each direction' }).rateOf).toBe('each direction');
    expect((await read(text, { rate_of: 'each direction' })).ambiguities).toEqual([]);
  });

  test('without directions says so, and takes one for all rows', async () => {
    const text = 'size (B),time (us)\n4096,6\n';
    expect((await read(text)).findings).toMatchObject([{ id: 'evidence-direction' }]);
    const fixed = await read(text, { fixed: { direction: 'to host', Max_Payload_Size: '128 B' } });
    expect(fixed.findings).toEqual([]);
    expect(fixed.rows[0]!.direction!.value).toBe('to host');
    expect(fixed.rows[0]!.settings.Max_Payload_Size!.expected).toEqual(rational(1024));
  });

  test('keeps columns it does not know as conditions, and tells them', async () => {
    const text =
      'size (B),direction,time (us),driver,spare\n64,to host,1,v1,x\n64,to host,1,v2,x\n';
    const table = await read(text, { ignore: ['spare'] });
    expect(table.rows[0]!.conditions).toEqual({ driver: 'v1' });
    expect(table.findings).toMatchObject([{ id: 'evidence-columns' }]);
    expect(table.groups).toHaveLength(2);
    expect((await read(text, { ignore: ['spare', 'driver'] })).groups).toHaveLength(1);
  });

  test('by numbers of columns needs no names', async () => {
    const table = await read('4096,ignored,6.83\n8192,ignored,13\n', {
      header: false,
      columns: { size: 1, time: '3' },
      units: { size: 'B', time: 'us' },
      fixed: { direction: 'to host' },
    });
    expect(table.problems).toEqual([]);
    expect(table.rows.map((r) => r.size.quantity!.expected.n)).toEqual([32_768n, 65_536n]);
  });

  test('takes the column the mapping names, and its unit from its name', async () => {
    const text = 'block,direction,rd (MiB/s),wr (MiB/s)\n4096,to host,100,200\n';
    const table = await read(text, {
      columns: { size: 'block', rate: 'wr (MiB/s)' },
      units: { size: 'B' },
    });
    expect(table.problems).toEqual([]);
    expect(table.rows[0]!.rate!.quantity!.expected).toEqual(quantity('200 MiB/s').expected);
    expect(table.rows[0]!.conditions).toEqual({ 'rd (MiB/s)': '100' });
  });

  test('settings that two units fit are settled by the sizes the standard allows', async () => {
    const table = await read('size (B),direction,time (us),MPS,RCB\n64,to host,1,1 KB,64\n');
    expect(table.problems).toEqual([]);
    expect(table.rows[0]!.settings.Max_Payload_Size!.expected).toEqual(rational(8192));
    expect(table.rows[0]!.settings.Read_Completion_Boundary!.expected).toEqual(rational(512));
  });
});

describe('repeats', () => {
  test('are grouped with the quantiles of definition 7', async () => {
    // Hyndman and Fan (1996), definition 7; of 1 to 10 the quartiles are 3.25, 5.5 and 7.75.
    const rows = [7, 3, 1, 10, 5, 2, 8, 6, 4, 9].map((t, i) => `4096,to host,${t},${i}`);
    const { groups } = await read(`size (B),direction,time (us),run\n${rows.join('\n')}\n`);
    expect(groups).toHaveLength(1);
    const { time, rate } = groups[0]!;
    const us = (q: { expected: ReturnType<typeof rational> }) =>
      div(q.expected, rational(1, 1_000_000));
    expect(time!.count).toBe(10);
    expect(
      [time!.low, time!.lowerQuartile, time!.median, time!.upperQuartile, time!.high].map(us),
    ).toEqual([rational(1), rational(13, 4), rational(11, 2), rational(31, 4), rational(10)]);
    expect(rate.high.expected).toEqual(rational(32_768_000_000));
    expect(groups[0]!.rows).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
  });

  test('that differ in size, direction or a setting are apart', async () => {
    const { groups } = await read(
      'size (B),direction,time (us),MPS\n64,to host,1,128\n64,to host,2,128\n64,from host,1,128\n' +
        '64,to host,1,256\n128,to host,1,128\n0.0625 KiB,to host,3,0.125\n64,to host,4,128 B\n',
    );
    expect(groups.map((g) => g.rows)).toEqual([[0, 1, 5], [2], [3], [4]]);
  });
});

describe('what cannot be used', () => {
  test.each<[string, string, string, number, number, RegExp]>([
    ['a decimal comma', '4096;to host;6,83', 'decimal-comma', 2, 14, /write 6\.83/],
    ['a word for a number', '4096;to host;fast', 'bad-number', 2, 14, /begin with a number/],
    ['an empty cell', ';to host;6', 'empty-cell', 2, 1, /fill it in/],
    ['a time of nothing', '4096;to host;0', 'out-of-range', 2, 14, /leave the row out/],
    ['a time below 0', '4096;to host;-1', 'out-of-range', 2, 14, /sign/],
    ['part of a byte', '0.3;to host;1', 'out-of-range', 2, 1, /unit/],
    ['a unit of something else', '4096;to host;3 MHz', 'bad-unit', 2, 16, /write the period/],
    ['grouped digits', "1'048'576;to host;1", 'bad-number', 2, 2, /1048576/],
    ['a range', '4096;to host;1..2', 'bad-number', 2, 14, /row of its own/],
    ['a cell too many', '4096;to host;1;9', 'cell-count', 2, 16, /quotes/],
    ['a number too large', '4096;to host;1e999', 'bad-number', 2, 14, /prefix/],
  ])(
    '%s is a problem with its place, and drops its row only',
    async (_, row, code, line, column, next) => {
      const table = await read(`size (B);direction;time (us)\n${row}\n64;to host;1\n`);
      expect(table.problems).toHaveLength(1);
      expect(table.problems[0]).toMatchObject({ code, place: { file: 't.csv', line, column } });
      expect(table.problems[0]!.next).toMatch(next);
      expect(table.rows).toHaveLength(1);
    },
  );

  test.each<[string, string, string, EvidenceMapping | undefined]>([
    ['no bytes', '', 'empty-evidence', undefined],
    ['comments alone', '# a\n\n', 'empty-evidence', undefined],
    ['zero bytes', 's\0i\0', 'not-text', undefined],
    ['no names', '1,2,3\n4,5,6\n', 'no-header', undefined],
    ['no sizes', 'time (us),direction\n1,to host\n', 'no-column', undefined],
    ['no times', 'size (B),direction\n1,to host\n', 'no-column', undefined],
    ['two rates', 'size (B),rate (MiB/s),throughput (MiB/s)\n1,2,3\n', 'two-columns', undefined],
    ['an unknown unit', 'size (furlongs),time (us)\n1,2\n', 'bad-unit', undefined],
    ['a setting of no standard', 'size (B),time (us),MPS\n1,2,200\n', 'bad-setting', undefined],
    [
      'a mapped column that is not there',
      'size (B),time (us)\n1,2\n',
      'unknown-column',
      {
        columns: { rate: 'speed' },
      },
    ],
  ])('%s', async (_, text, code, mapping) => {
    expect(codes(await read(text, mapping))).toContain(code);
  });

  test('a byte that is not UTF-8 is told with its place; the text around it is read', async () => {
    const bytes = bytesOf('size (B),time (Xs)\n4096,1\n');
    bytes[15] = 0xb5;
    const table = await readTimingTable([bytes], { file: 't.csv' });
    expect(table.problems[0]).toMatchObject({
      code: 'not-utf8',
      place: { line: 1, column: 16 },
      got: 'byte 0xb5 at byte offset 15',
    });
    expect(codes(table)).toContain('bad-unit');
  });

  test('problems are kept to a few hundred, and the rest counted', async () => {
    const table = await read(`size (B),time (us)\n${'64,x\n'.repeat(5000)}`);
    expect(table.problems).toHaveLength(200);
    expect(table.problemsLeftOut).toBe(4800);
  });

  test('rows past the limit are counted and told', async () => {
    const text = `size (B),direction,time (us)\n${'64,to host,1\n'.repeat(ROWS_MAX + 3)}`;
    const table = await read(text);
    expect(table.rows).toHaveLength(ROWS_MAX);
    expect(table.rowsLeftOut).toBe(3);
    expect(codes(table)).toEqual(['too-many-rows']);
  });

  test('what the file says is shown without characters that move a cursor', async () => {
    const table = await read('size (B),time (us)\n64,\u001b[31m\u202e\n');
    expect(table.problems[0]!.got).toBe('"\\u{1b}[31m\\u{202e}"');
  });

  test('a failure to read the bytes is passed on', async () => {
    async function* broken() {
      yield bytesOf('size (B)');
      throw new Error('the disk is gone');
    }
    await expect(readTimingTable(broken(), { file: 't.csv' })).rejects.toThrow('the disk is gone');
  });
});
