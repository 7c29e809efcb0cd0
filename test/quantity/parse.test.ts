import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  bytes,
  type Dimension,
  exactQuantity,
  fromDecimal,
  inUnit,
  isExact,
  parseQuantity,
  QuantityError,
  quantity,
  rangeQuantity,
  rational,
  toDecimal,
  toNumber,
} from '../../src/quantity/index.ts';

function valuesIn(text: string, unit: string, wanted?: Dimension): readonly string[] {
  const { low, expected, high } = inUnit(quantity(text, wanted), unit);
  return [low, expected, high].map((value) => toDecimal(value, 30));
}

describe('what is read', () => {
  test.each<[string, string, string, string, string]>([
    ['600..770 MB/s', 'MB/s', '600', '685', '770'],
    ['600 MB/s..0.77 GB/s', 'MB/s', '600', '685', '770'],
    ['600..700..770 MB/s', 'MB/s', '600', '700', '770'],
    ['600 .. 770 MB/s', 'MB/s', '600', '685', '770'],
    ['0.9..1.1 GB/s', 'MB/s', '900', '1000', '1100'],
    ['64 ns ± 8 ns', 'ns', '56', '64', '72'],
    ['64 ± 8 ns', 'ns', '56', '64', '72'],
    ['64ns±8ns', 'ns', '56', '64', '72'],
    ['64 ns +/- 8000 ps', 'ns', '56', '64', '72'],
    ['64 ns ± 10 %', 'ns', '57.6', '64', '70.4'],
    ['20 ± 5 %', '%', '15', '20', '25'],
    ['20 % ± 5 %', '%', '15', '20', '25'],
    ['71 ± 3 degC', 'degC', '68', '71', '74'],
    ['71 degC ± 3 K', 'degC', '68', '71', '74'],
    ['-40..85 °C', 'degC', '-40', '22.5', '85'],
    ['-12 V ± 5 %', 'V', '-12.6', '-12', '-11.4'],
    ['4.75..12.6 V', 'V', '4.75', '8.675', '12.6'],
    ['−5 V', 'V', '-5', '-5', '-5'],
    ['+5 V', 'V', '5', '5', '5'],
    ['1e3 B', 'kB', '1', '1', '1'],
    ['1E3 B', 'kB', '1', '1', '1'],
    ['1 EB', 'PB', '1000', '1000', '1000'],
    ['12 ± 1', '', '11', '12', '13'],
    ['64..128', '', '64', '96', '128'],
    ['7\u2009ms', 'us', '7000', '7000', '7000'],
    ['  7\u00a0ms ', 'us', '7000', '7000', '7000'],
    ['5..5 V', 'V', '5', '5', '5'],
  ])('%s in %s', (text, unit, low, expected, high) => {
    expect(valuesIn(text, unit)).toEqual([low, expected, high]);
  });

  test('the text is kept as written', () => {
    expect(quantity(' 600..770 MB/s').text).toBe(' 600..770 MB/s');
  });

  test('where a unit means several things the first wanted one is taken', () => {
    expect(quantity('14 K').dimension).toBe('temperature');
    expect(quantity('14 K', 'temperature difference').dimension).toBe('temperature difference');
    expect(quantity('14 Kdiff').dimension).toBe('temperature difference');
    expect(quantity('1 MHz').dimension).toBe('frequency');
    expect(quantity('1 MHz', 'sample rate').dimension).toBe('sample rate');
    const both = ['sample rate', 'frequency'] as const;
    expect(quantity('1 MHz', both).dimension).toBe('sample rate');
    expect(quantity('1 MS/s', both).dimension).toBe('sample rate');
    expect(quantity('1..2 Kdiff', ['temperature', 'temperature difference']).dimension).toBe(
      'temperature difference',
    );
  });

  test('a bare number is a count, or a fraction from 0 to 1 where one is wanted', () => {
    expect(quantity('0.5').dimension).toBe('count');
    expect(quantity('0.5', 'fraction').dimension).toBe('fraction');
    expect(quantity('1', 'fraction').expected).toEqual(rational(1));
    expect(quantity('64 ± 10 %', 'count').high).toEqual(rational(704, 10));
  });

  test('any plain decimal is kept exactly', () => {
    const whole = fc.bigInt({ min: 0n, max: 10n ** 30n });
    fc.assert(
      fc.property(whole, fc.stringMatching(/^[0-9]{1,30}$/), (n, digits) => {
        expect(quantity(`${n}.${digits} s`).expected).toEqual(fromDecimal(`${n}.${digits}`));
      }),
    );
  });
});

/** Text, wanted, column, got, and a piece of the next step. */
type Bad = readonly [string, Dimension | undefined, number, string, string];

describe('what is refused, at which column, and what to do', () => {
  test.each<Bad>([
    ['', undefined, 1, 'the end of the text', 'begin with a number'],
    ['   ', undefined, 4, 'the end of the text', 'begin with a number'],
    ['fast', undefined, 1, '"fast"', 'begin with a number'],
    ['x4', 'count', 1, '"x4"', 'write 4'],
    ['.5 V', 'voltage', 1, '".5"', 'write 0.5'],
    ['5. V', 'voltage', 3, '" "', 'write 5'],
    ['< 5 V', 'voltage', 1, '"<"', 'write a range'],
    ['4 KB', 'size', 3, '"KB"', 'write kB or KiB'],
    ['4 Kb', 'size', 3, '"Kb"', 'write kb or Kib'],
    ['4 KB/s', 'data rate', 3, '"KB/s"', 'write kB/s or KiB/s'],
    ['500 mb/s', undefined, 5, '"mb/s"', 'write MB/s or Mb/s'],
    ['500 MBps', 'data rate', 5, '"MBps"', 'write MB/s'],
    ['500 Mbps', 'data rate', 5, '"Mbps"', 'write Mbit/s'],
    ['4 kib', 'size', 3, '"kib"', 'write KiB or Kib'],
    ['4 bytes', 'size', 3, '"bytes"', 'write B'],
    ['4 MBytes', 'size', 3, '"MBytes"', 'write MB'],
    ['33 mHz', 'frequency', 4, '"mHz"', 'write MHz'],
    ['14 MW', 'power', 4, '"MW"', 'write mW'],
    ['5 sec', 'time', 3, '"sec"', 'write s'],
    ['5 usec', 'time', 3, '"usec"', 'write us'],
    ['71 C', 'temperature', 4, '"C"', 'write degC'],
    ['71 dgeC', 'temperature', 4, '"dgeC"', 'write degC'],
    ['3 Gbuad', 'symbol rate', 3, '"Gbuad"', 'write Gbaud'],
    ['3 Gbuda', 'symbol rate', 3, '"Gbuda"', 'write Gbaud'],
    ['2 MSPS', 'sample rate', 3, '"MSPS"', 'write MS/s'],
    ['8 GT', 'transfer rate', 3, '"GT"', 'write GT/s'],
    ['1 foo', 'length', 3, '"foo"', 'write a length, such as 10 mm'],
    ['5 V and more', 'voltage', 5, '"and"', 'write one number and its unit'],
    ['600..770 MB/s x', undefined, 15, '"x"', 'write one number and its unit'],
    ['12', 'size', 3, '12 without a unit', 'write a size, such as 4 KiB'],
    ['12 ', 'size', 3, '12 without a unit', 'write a size, such as 4 KiB'],
    ['600 MB/s..770', undefined, 14, '770 without a unit', 'write a data rate'],
    ['64 ns ± 8', 'time', 10, '8 without a unit', 'write a time'],
    ['64 ± 10 %', 'time', 3, '64 without a unit', 'write a time'],
    ['20', 'fraction', 3, '20 without a unit', 'write 20 %'],
    ['4 B', 'count', 3, '"B", a unit of size', 'write a plain number'],
    ['8 GT/s', 'data rate', 3, '"GT/s", a unit of transfer rate', 'MB/s or Gbit/s'],
    ['8 Gbit/s', 'transfer rate', 3, '"Gbit/s", a unit of data rate', 'GT/s'],
    ['3 Gbaud', 'data rate', 3, '"Gbaud", a unit of symbol rate', 'MB/s or Gbit/s'],
    ['3 MB', 'data rate', 3, '"MB", a unit of size', 'add /s'],
    ['3 MB/s', 'size', 3, '"MB/s", a unit of data rate', 'no /s'],
    ['100 MHz', 'time', 5, '"MHz", a unit of frequency', 'period'],
    ['1 s..2 MB', undefined, 8, '"MB", a unit of size', 'write a time'],
    ['64 ns ± 3 mm', undefined, 11, '"mm", a unit of length', 'write a time'],
    ['1,000 B', 'size', 2, '",0"', 'write 1000 or 1.000'],
    ['1_000 B', 'size', 2, '"_0"', 'write 1000'],
    ['13 120 ns', 'time', 3, '"1"', 'write 13120'],
    ['600-770 MB/s', undefined, 4, '"-"', 'two points'],
    ['600 – 770 MB/s', undefined, 5, '"–"', 'two points'],
    ['600 to 770 MB/s', undefined, 5, '"to"', 'two points'],
    ['600 MB/s - 770 MB/s', undefined, 10, '"-"', 'two points'],
    ['1/3 s', 'time', 2, '"/"', 'decimal number'],
    ['600...770 MB/s', undefined, 6, '".770"', 'two points, not three'],
    ['600..', undefined, 6, 'the end of the text', 'begin with a number'],
    ['770..600 MB/s', undefined, 1, '"770..600 MB/s"', 'swap'],
    ['1 GB/s..600 MB/s', undefined, 1, '"1 GB/s..600 MB/s"', 'swap'],
    ['5..2..8 s', undefined, 1, '"5..2..8 s"', 'rising order'],
    ['1..2..3..4 s', undefined, 8, '".."', 'low..expected..high'],
    ['1..2 ± 1 s', undefined, 6, '"±"', 'either a range'],
    ['5 ± 1 ± 1 s', undefined, 7, '"±"', 'either a range'],
    ['-5 ns', 'time', 1, '-5 ns', 'check the sign'],
    ['-5 B', 'size', 1, '-5 B', 'check the sign'],
    ['-1 MB/s', 'data rate', 1, '-1 MB/s', 'check the sign'],
    ['-5..5 ns', 'time', 1, '-5 ns', 'check the sign'],
    ['-1', 'count', 1, '-1', 'check the sign'],
    ['-300 degC', 'temperature', 1, '-300 degC', '-273.15 degC'],
    ['64 ns ± 70 ns', 'time', 7, 'a tolerance larger than the value', 'write a range'],
    ['64 ± -8 ns', 'time', 6, '-8', 'drop the sign'],
    ['64 ns ± -8 %', 'time', 9, '-8', 'drop the sign'],
    ['71 degC ± 10 %', 'temperature', 14, '"%"', '± 3 K'],
    ['1e999999999 B', 'size', 1, '"1e999999999"', 'unit prefix'],
    ['1e100 B', 'size', 1, '"1e100"', 'unit prefix'],
    ['1e-100 s', 'time', 1, '"1e-100"', 'unit prefix'],
    [`${'1'.repeat(200)} B`, 'size', 201, '202', 'one number and its unit'],
  ])('%s as %s: column %i', (text, wanted, column, got, next) => {
    const parsed = parseQuantity(text, wanted);
    if (parsed.ok) throw new Error(`read as ${parsed.quantity.dimension}`);
    expect([parsed.problem.column, parsed.problem.got]).toEqual([column, got]);
    expect(parsed.problem.next).toContain(next);
    expect(parsed.problem.expected).not.toBe('');
  });

  test('quantity throws what parseQuantity returns', () => {
    expect(() => quantity('4 KB', 'size')).toThrow(QuantityError);
    expect(() => quantity('4 KB', 'size')).toThrow(
      '"4 KB", column 3: expected a unit of size; got "KB"; write kB or KiB',
    );
  });

  test('no text throws, and every column lies in the text or one past its end', () => {
    const pieces = ['600', '7.5', '-3', '1e5', '..', '±', '+/-', ' ', 'MB/s', 'ns', 'degC', '%'];
    const odd = ['.', 'K', 'to', '-', 'e', '\u2009', '°', 'GT/s', ',', '1e999', '😀', '\n'];
    const built = fc
      .array(fc.constantFrom(...pieces, ...odd), { maxLength: 9 })
      .map((parts) => parts.join(''));
    const wanted = fc.constantFrom<Dimension | undefined>(undefined, 'time', 'data rate', 'count');
    fc.assert(
      fc.property(fc.oneof(built, fc.string({ maxLength: 240 })), wanted, (text, dimension) => {
        const parsed = parseQuantity(text, dimension);
        if (parsed.ok) {
          const { low, expected, high } = parsed.quantity;
          expect(toNumber(low)).toBeLessThanOrEqual(toNumber(expected));
          expect(toNumber(expected)).toBeLessThanOrEqual(toNumber(high));
          return;
        }
        expect(parsed.problem.column).toBeGreaterThanOrEqual(1);
        expect(parsed.problem.column).toBeLessThanOrEqual(text.length + 1);
      }),
      { numRuns: 2000 },
    );
  });
});

describe('quantities made in code', () => {
  test('exact and range values', () => {
    expect(isExact(exactQuantity('time', rational(1, 2)))).toBe(true);
    expect(exactQuantity('time', rational(1, 2)).text).toBe('0.5 s');
    expect(exactQuantity('count', rational(4)).text).toBe('4');
    const [low, expected, high] = [rational(1), rational(2), rational(5)];
    expect(isExact(rangeQuantity('size', { low, expected, high }))).toBe(false);
    expect(rangeQuantity('size', { low, expected, high }).text).toBe('1..2..5 bit');
    expect(() => rangeQuantity('size', { low, expected: high, high: expected })).toThrow(
      RangeError,
    );
  });

  test('bytes gives whole bytes and nothing else', () => {
    expect(bytes(quantity('4 KiB'))).toBe(4096);
    expect(bytes(quantity('32 kbit'))).toBe(4000);
    for (const text of ['12 bit', '1..3 B', '8 s', '9.1 PB', '0.5 B']) {
      expect(() => bytes(quantity(text)), text).toThrow(RangeError);
    }
    // 2^52 and an eighth bytes: a whole number only once rounded to a double.
    const eighthOver = exactQuantity('size', rational((1n << 55n) + 1n));
    expect(() => bytes(eighthOver)).toThrow(RangeError);
  });

  test('inUnit refuses a unit of something else', () => {
    expect(() => inUnit(quantity('8 GT/s'), 'Gbit/s')).toThrow(RangeError);
    expect(() => inUnit(quantity('8 GB/s'), 'gb/s')).toThrow(RangeError);
  });
});
