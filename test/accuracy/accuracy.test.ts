/**
 * The rules that hold for every measurement: none that is sound lies above the ceiling, and those that
 * cannot be true are said to be so. `page.test.ts` compares the published page.
 */
import { describe, expect, test } from 'vitest';
import { partsFolderOf } from '../../src/engine/index.ts';
import { measuredFolder } from './folders.ts';
import { allResults, isSound, type Result } from './results.ts';

const results = allResults(measuredFolder);
const named = (title: string): Result => results.find((r) => r.title === title)!;

/** Payload rates of a lane, B/s: the standard's line rates less line code. */
const laneRate = { 1: 250e6, 2: 500e6, 3: (8e9 * 128) / 130 / 8 } as const;

/**
 * Back-to-back writes of full packets: five double words of overhead each (Intel AN 855 §1.1), and
 * the longest SKP spacing of PCI Express Base Specification 6.3 §4.2.8.4: four symbols in 1538, or one
 * block in 375 with four bytes of EDS token.
 */
function wireLimit(generation: 1 | 2 | 3, width: number, payload: number): number {
  const raw = laneRate[generation] * width;
  const lost = generation === 3 ? (16 + 4 / width) / (375 * 16) : 4 / 1538;
  return ((raw * payload) / (payload + 20)) * (1 - lost);
}

test('every row has a name of its own', () => {
  const names = results.map((r) => r.title);
  expect(new Set(names).size).toBe(names.length);
});

test('the cases find their parts by themselves', () => {
  for (const { row } of results) expect(partsFolderOf(row.source), row.source.file).toBe('parts');
});

/** Above the wire limit of the settings printed beside them. */
const impossible = [
  '2.5 GT/s x1 built-in engine write',
  '2.5 GT/s x1 fabric engine write',
  '5 GT/s x1 built-in engine write',
  '5 GT/s x1 fabric engine write',
  '2.5 GT/s x2 built-in engine write',
  '2.5 GT/s x2 fabric engine write',
  '5 GT/s x2 built-in engine write',
  '5 GT/s x2 fabric engine write',
  '5 GT/s x8 write',
];

describe('ceilings', () => {
  test('no sound measurement is above its ceiling, of 100 and more', () => {
    const sound = results.filter((r) => !impossible.includes(r.title));
    expect(sound.length).toBeGreaterThanOrEqual(100);
    expect(sound.length).toBe(results.length - impossible.length);
    for (const r of sound) {
      expect(r.measured, r.title).toBeLessThanOrEqual(r.ceiling);
      expect(isSound(r), r.title).toBe(true);
    }
  });

  test('no rate of the model is above its ceiling', () => {
    for (const r of results) expect(r.high, r.title).toBeLessThanOrEqual(r.ceiling * (1 + 1e-12));
  });

  test.each(impossible)('%s: impossible as stated, possible with 256 B', (title) => {
    const { standing, possibleWith, measured, ceiling } = named(title);
    expect(standing).toBe('impossible as stated');
    expect(measured).toBeGreaterThan(ceiling);
    const [first] = possibleWith;
    expect(first?.change).toContain('Max_Payload_Size 256 B instead of 128 B');
    expect(first?.ceiling).toBeGreaterThanOrEqual(measured);
    // 256 B take 276 B on the wire where 128 B take 148 B.
    expect(first!.ceiling / ceiling).toBeCloseTo(256 / 276 / (128 / 148), 9);
  });

  test.each([
    ['2.5 GT/s x1 built-in engine write', 1, 1, 128],
    ['5 GT/s x2 fabric engine write', 2, 2, 128],
    ['2.5 GT/s x4 fabric engine write', 1, 4, 128],
    ['5 GT/s x4 built-in engine write', 2, 4, 128],
    ['server 1 x8 write', 1, 8, 128],
    ['server 2 x4 write', 1, 4, 128],
    ['5 GT/s x8 write', 2, 8, 128],
    ['8 GT/s x8 write', 3, 8, 256],
    ['host 1 64 B write', 3, 8, 64],
    ['host 1 128 B write', 3, 8, 128],
    ['host 2 256 B write', 3, 8, 256],
    ['host 3 2048 B write', 3, 8, 256],
  ] as const)('%s: the ceiling is the wire limit', (title, generation, width, payload) => {
    const limit = wireLimit(generation, width, payload);
    // Whether a spacing of 375 blocks counts its own block moves the limit by less than 1e-5.
    expect(Math.abs(named(title).ceiling / limit - 1)).toBeLessThan(2e-5);
  });
});

test('the rows outside their range are those that the page explains', () => {
  const outside = results.filter((r) => isSound(r) && r.standing !== 'within');
  expect(outside.map((r) => r.title).sort()).toEqual([
    '2.5 GT/s x4 fabric engine read',
    '5 GT/s x2 fabric engine read',
    '5 GT/s x4 built-in engine read',
    '5 GT/s x4 fabric engine read',
    'host 1 129 B write',
    'host 2 129 B write',
    'host 3 129 B write',
  ]);
});

describe('the tables are those of their sources', () => {
  // Microchip, PolarFire Family PCI Express User Guide, §3.5.1, §3.5.2: rate after line code in MB/s
  // and the printed shares in percent: reads and writes of the built-in engine, then of the fabric's.
  test.each([
    ['2.5 GT/s x1', 250, 82.4, 90.4, 81.6, 90.4],
    ['5 GT/s x1', 500, 82.2, 90.6, 82.2, 90.6],
    ['2.5 GT/s x2', 500, 82.0, 87.8, 79.4, 88.0],
    ['5 GT/s x2', 1000, 81.4, 87.5, 59.9, 87.7],
    ['2.5 GT/s x4', 1000, 81.1, 83.0, 48.3, 83.1],
    ['5 GT/s x4', 2000, 59.1, 75.4, 33.3, 82.3],
  ])('FPGA kit %s: printed shares of %i MB/s', (link, rate, ...shares) => {
    const rows = ['built-in engine read', 'built-in engine write'];
    rows.push('fabric engine read', 'fabric engine write');
    rows.forEach((row, i) => {
      const share = named(`${link} ${row}`).measured / (rate * 1e4);
      // Printed to one decimal: 59.05 % is printed as 59.1 %.
      expect(Math.abs(share - shares[i]!), row).toBeLessThan(0.0501);
    });
  });

  test('network card: the column is in bits, by the bytes and time beside it', () => {
    // Open data set with Neugebauer et al.: 8 388 608 reads of 64 B in 149.91 ms, third host.
    const rate = (8_388_608 * 64) / 149.91e-3;
    expect(Math.abs(named('host 3 64 B read').measured / rate - 1)).toBeLessThan(5e-4);
  });

  test('network card: 45 writes and 45 reads, 64 B writes 47.40 million a second everywhere', () => {
    const rows = results.filter((r) => r.system.folder === 'server-nic');
    expect(rows.filter((r) => r.kind === 'write')).toHaveLength(45);
    expect(rows).toHaveLength(90);
    for (const host of [1, 2, 3]) {
      expect(named(`host ${host} 64 B write`).measured / 64e6).toBeCloseTo(47.4, 2);
    }
  });
});
