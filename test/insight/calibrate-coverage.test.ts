/**
 * Intervals by simulation: transfers made by the model itself with known values and normal noise. A 90 %
 * interval holds the truth in 90 of 100 studies; the tolerance is three binomial deviations of 300.
 */
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { describe, expect, test } from 'vitest';
import { calibrate, intervalsOf, predictPoints } from '../../src/insight/calibrate/index.ts';
import type { Values } from '../../src/insight/calibrate/parameters.ts';
import { PointModel } from '../../src/insight/point-model.ts';
import { measuredAt, nicCase, pointAt } from './calibrate-cases.ts';

const studies = 300;
const confidence = { least: 0.85, most: 0.95 } as const;

/** Standard normal numbers by the polar method (G. Marsaglia and T. A. Bray, SIAM Review 6, 1964). */
function normals(seed: number): () => number {
  const generator = xoroshiro128plus(seed);
  const uniform = () => (generator.next() >>> 0) / 2 ** 31 - 1;
  return () => {
    for (;;) {
      const [u, v] = [uniform(), uniform()];
      const square = u * u + v * v;
      if (square > 0 && square < 1) return u * Math.sqrt((-2 * Math.log(square)) / square);
    }
  };
}

const c = nicCase('write');
const truth: Values = { setup_per_transfer: 2e-7, gap_per_packet: 2.5e-8 };
const sizes = [64, 128, 256, 512, 1024, 2048, 4096, 8192, 16_384, 65_536];
const explanations = ['writes: set-up and pause per packet'];
const exact = new Map(
  [...sizes, 3000].map((size) => [
    size,
    new PointModel(c).predict(truth, pointAt('write', size)).rate,
  ]),
);

describe('300 studies of ten sizes, 2 % noise', () => {
  const normal = normals(20261125);
  const noisy = (size: number) => exact.get(size)! / (1 + 0.02 * normal());
  const held = { setup: 0, gap: 0, again: 0, between: 0 };
  for (let study = 0; study < studies; study++) {
    const points = sizes.map((size) => measuredAt(pointAt('write', size), noisy(size)));
    const found = calibrate(points, c, { explanations, starts: 1 })!;
    for (const { key, low, high } of intervalsOf(found.explanations[0]!, found.kinds)) {
      const inside = truth[key]! >= low && truth[key]! <= high;
      if (key === 'setup_per_transfer') held.setup += +inside;
      else held.gap += +inside;
    }
    const [again, between] = predictPoints(found, [pointAt('write', 512), pointAt('write', 3000)]);
    const within = (rate: number, range: { low: number; high: number }) =>
      +(rate >= range.low && rate <= range.high);
    held.again += within(noisy(512), again!);
    held.between += within(noisy(3000), between!);
  }

  test.each([['setup'], ['gap'], ['again']] as const)('%s: nine in ten', (what) => {
    expect(held[what] / studies).toBeGreaterThanOrEqual(confidence.least);
    expect(held[what] / studies).toBeLessThanOrEqual(confidence.most);
  });

  test('a size that was not measured: at least nine in ten, as the model may be off there', () => {
    expect(held.between / studies).toBeGreaterThanOrEqual(0.9);
  });
});
