import { describe, expect, test } from 'vitest';
import { rational } from '../../src/quantity/index.ts';
import { readName, timingRoles } from '../../src/readers/names.ts';
import { mappedUnit, readUnit, type UnitRole } from '../../src/readers/units.ts';

const bits = (bytes: number | bigint) => rational(BigInt(bytes) * 8n);

describe('units that mean one thing', () => {
  // IEC 80000-13:2008 (byte, bit, kibi …) and SI Brochure table 7; DW: PCI Express Base
  // Specification, terms and acronyms ("Double Word: 4 bytes").
  test.each<[string, UnitRole, ReturnType<typeof rational>]>([
    ['B', 'size', bits(1)],
    ['bytes', 'size', bits(1)],
    ['KiB', 'size', bits(1024)],
    ['MiB', 'size', bits(1_048_576)],
    ['DW', 'size', bits(4)],
    ['bit', 'size', rational(1)],
    ['MiB/s', 'rate', bits(1_048_576)],
    ['MiB per second', 'rate', bits(1_048_576)],
    ['B/s', 'rate', bits(1)],
    ['Gbit/s', 'rate', rational(1_000_000_000)],
    ['Mbits/sec', 'rate', rational(1_000_000)],
    ['ns', 'time', rational(1, 1_000_000_000)],
    ['usec', 'time', rational(1, 1_000_000)],
    ['µs', 'time', rational(1, 1_000_000)],
    ['milliseconds', 'time', rational(1, 1000)],
    ['s', 'time', rational(1)],
  ])('%s as %s', (unit, role, factor) => {
    expect(readUnit(unit, role)).toEqual({ kind: 'exact', factor });
  });
});

describe('units that are written for several things', () => {
  test.each<[string, UnitRole, string[]]>([
    ['MB', 'size', ['MB', 'MiB']],
    ['KB', 'size', ['kB', 'KiB']],
    ['kB', 'size', ['kB', 'KiB']],
    ['K', 'size', ['kB', 'KiB']],
    ['b', 'size', ['bit', 'B']],
    ['words', 'size', ['2 B', '4 B', '8 B']],
    ['Kib', 'size', ['Kibit', 'KiB']],
    ['MB/s', 'rate', ['MB/s', 'MiB/s']],
    ['GBps', 'rate', ['GB/s', 'GiB/s']],
    ['Gb/s', 'rate', ['Gbit/s', 'Gibit/s', 'GB/s', 'GiB/s']],
    ['mbps', 'rate', ['Mbit/s', 'Mibit/s', 'MB/s', 'MiB/s']],
    ['Kbit/s', 'rate', ['kbit/s', 'Kibit/s']],
    ['', 'rate', ['B/s', 'MB/s', 'MiB/s', 'GB/s', 'GiB/s', 'Mbit/s', 'Gbit/s']],
    ['', 'time', ['s', 'ms', 'us', 'ns']],
    ['', 'size', ['B', 'KiB', 'MiB', 'kB', 'MB']],
  ])('%j as %s leaves %j', (unit, role, ids) => {
    const reading = readUnit(unit, role);
    expect(reading.kind === 'ambiguous' && reading.choices.map((c) => c.id)).toEqual(ids);
  });

  test('every choice is worth what the unit table says of its name', () => {
    for (const [unit, role] of [
      ['Gb/s', 'rate'],
      ['MB', 'size'],
      ['', 'rate'],
      ['', 'time'],
      ['', 'size'],
    ] as const) {
      const reading = readUnit(unit, role);
      if (reading.kind !== 'ambiguous') throw new Error('expected choices');
      for (const { id, factor } of reading.choices) {
        expect(mappedUnit(id, role)).toEqual({ kind: 'exact', factor });
      }
    }
  });

  test('at most one choice is the standard one, and it is the decimal one', () => {
    const reading = readUnit('MB/s', 'rate');
    expect(reading).toMatchObject({
      choices: [
        { id: 'MB/s', meaning: '1 MB/s = 1000000 B/s', standard: true },
        { id: 'MiB/s', meaning: '1 MiB/s = 1048576 B/s', standard: false },
      ],
    });
  });
});

describe('units that do not belong', () => {
  test.each<[string, UnitRole, RegExp]>([
    ['GT/s', 'rate', /line code/],
    ['MB', 'rate', /\/s/],
    ['cycles', 'time', /units: \{time: '8 ns'\}/],
    ['us', 'size', /write a size/],
    ['x'.repeat(50_000), 'size', /write/],
  ])('%s as %s is refused with help', (unit, role, help) => {
    const reading = readUnit(unit, role);
    expect(reading.kind === 'unknown' && reading.complaint.next).toMatch(help);
  });
});

describe('names of columns', () => {
  test.each<[string, string, string | undefined]>([
    ['size (B)', 'size', 'B'],
    ['Transfer Size [KiB]', 'size', 'KiB'],
    ['size_bytes', 'size', 'bytes'],
    ['bytes', 'size', 'bytes'],
    ['rate [MB/s]', 'rate', 'MB/s'],
    ['throughput_MB_per_s', 'rate', 'MB_per_s'],
    ['Bandwidth, Gbit/s', 'rate', 'Gbit/s'],
    ['MiB/s', 'rate', 'MiB/s'],
    ['time_us', 'time', 'us'],
    ['time/us', 'time', 'us'],
    ['elapsed time in ms', 'time', 'ms'],
    ['time', 'time', undefined],
    ['Max_Payload_Size', 'Max_Payload_Size', undefined],
    ['MPS', 'Max_Payload_Size', undefined],
    ['lanes', 'width', undefined],
  ])('%s is %s in %s', (name, role, unit) => {
    expect(readName(name, timingRoles)).toEqual({ role, ...(unit !== undefined && { unit }) });
  });

  test.each(['latency', 'payload', 'note', '', 'speed grade', 'x'.repeat(100_000)])(
    '%s is no column that is known',
    (name) => {
      expect(readName(name, timingRoles)).toBeUndefined();
    },
  );
});
