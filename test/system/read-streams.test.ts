import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { compare, div, inUnit, rational, toDecimal, toNumber } from '../../src/quantity/index.ts';
import type { Case } from '../../src/system/case.ts';
import { good, places, read } from './read-files.ts';

const head = 'lanewright: case/1\ntitle: t\nmodule: sounder-xmc\nstreams:\n';
const stream = (keys: string) => read(`${head}  - {name: s, direction: to host, ${keys}}\n`);
const only = (keys: string) => good<Case>(stream(keys)).streams[0]!;
const demo = 'channels: 256, sample_rate: 1 MS/s, container: 2 B';

describe('a rate and a front end must agree, within the rounding of what is written', () => {
  // 625 × 4160/4170.5 = 623.426… MB/s: demo arithmetic; here made by 623 426 441 S/s × 1 B.
  const made = 'front_end: {channels: 1, sample_rate: 623426441 S/s, container: 1 B}';
  test.each([
    ['623.4 MB/s', true],
    ['623.43 MB/s', true],
    ['623 MB/s', true],
    ['623426441 B/s', true],
    ['6.2e2 MB/s', true],
    ['0.62 GB/s', true],
    ['4.987411528 Gbit/s', true],
    ['600..770 MB/s', true],
    ['623.5 MB/s', false],
    ['623.42 MB/s', false],
    ['624 MB/s', false],
    ['623426442 B/s', false],
    ['624..770 MB/s', false],
  ])('%s: %s', (rate, agrees) => {
    expect(places(stream(`rate: ${rate}, ${made}`))).toEqual(
      agrees ? [] : ['contradiction case.yaml:5:41'],
    );
  });

  test("the front end's exact value is used, a rate rather than a range", () => {
    expect(only(`rate: 623.4 MB/s, ${made}`).required.value.low).toEqual(rational(4_987_411_528n));
    const range = 'front_end: {channels: 1, sample_rate: 500..700 MS/s, container: 1 B}';
    expect(only(`rate: 623 MB/s, ${range}`).required.value.text).toBe('623 MB/s');
    expect(only(range).required.value).toMatchObject({
      low: rational(4_000_000_000n),
      high: rational(5_600_000_000n),
    });
  });
});

describe('the average', () => {
  test('comes from duty, else from the rate', () => {
    const half = only(`front_end: {${demo}, duty: 50 %}`);
    expect(toNumber(inUnit(half.average.value, 'MB/s').expected)).toBe(256);
    expect(only('rate: 5 MB/s').average).toMatchObject({ from: 'default', basis: 'assumed' });
  });

  test('agrees with duty and is at most the rate', () => {
    const duty = `front_end: {${demo}, duty: 50 %}`;
    expect(places(stream(`average: 256 MB/s, ${duty}`))).toEqual([]);
    expect(places(stream(`average: 250 MB/s, ${duty}`))).toEqual(['contradiction case.yaml:5:44']);
    expect(places(stream('rate: 5 MB/s, average: 5 MB/s'))).toEqual([]);
    expect(places(stream('rate: 5 MB/s, average: 6 MB/s'))).toEqual([
      'contradiction case.yaml:5:58',
    ]);
  });
});

test.each([
  ['weight: 2', 'missing-key case.yaml:5:5'],
  ['rate: 0 MB/s', 'out-of-range case.yaml:5:41'],
  ['rate: 5 MB', 'bad-quantity case.yaml:5:43'],
  ['rate: 5 MB/s, headroom: -5 %', 'bad-quantity case.yaml:5:59'],
  [`front_end: {${demo}, duty: 120 %}`, 'out-of-range case.yaml:5:105'],
  [`front_end: {${demo}, duty: 0 %}`, 'out-of-range case.yaml:5:105'],
  ['rate: 5 MB/s, transfer: {size: 1 KiB, start_offset: 4 KiB}', 'out-of-range case.yaml:5:87'],
  ['rate: 5 MB/s, transfer: {size: 0 B}', 'out-of-range case.yaml:5:66'],
  ['rate: 5 MB/s, transfer: {size: 12 bit}', 'out-of-range case.yaml:5:66'],
  ['rate: 5 MB/s, weight: 0', 'out-of-range case.yaml:5:57'],
  ['rate: 5 MB/s, measured: [{rate: 4 MB/s}]', 'missing-key case.yaml:5:60'],
])('%s: %s', (keys, expected) => {
  expect(places(stream(keys))).toEqual([expected]);
});

test('burst and average are the products, exactly', () => {
  const count = fc.integer({ min: 1, max: 4096 });
  fc.assert(
    fc.property(count, count, count, count, count, fc.integer({ min: 1, max: 100 }), (...n) => {
      const [channels, rate, container, size, every, duty] = n;
      const { required, average } = only(
        `front_end: {channels: ${channels}, sample_rate: ${rate} kS/s, container: ${container} B, ` +
          `duty: ${duty} %, block_header: {size: ${size} B, every: ${every} B}}`,
      );
      // The same product over a common denominator, in whole numbers.
      const bits = BigInt(channels) * BigInt(rate) * 1000n * BigInt(container) * 8n;
      const burst = rational(bits * BigInt(every + size), BigInt(every));
      expect(compare(required.value.expected, burst)).toBe(0);
      const times = div(average.value.expected, required.value.expected);
      expect(toDecimal(times, 6)).toBe(toDecimal(rational(duty, 100), 6));
    }),
    { numRuns: 50 },
  );
});
