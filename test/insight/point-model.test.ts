/** The compiled form of a point against the closed form it was taken from, and its speed. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CompiledPoint } from '../../src/insight/calibrate/compiled.ts';
import type { CalibrationKey, Kind, Values } from '../../src/insight/calibrate/parameters.ts';
import { exactAt } from '../../src/insight/calibrate/predict.ts';
import { PointModel } from '../../src/insight/point-model.ts';
import { precisionOf } from '../../src/numeric/fit/precision.ts';
import { nicCase, pointAt, recorderCase } from './calibrate-cases.ts';

const sizes = [1, 16, 64, 65, 129, 256, 257, 512, 1025, 2048, 5000, 65_536];

const freeOf: Readonly<Record<Kind, readonly CalibrationKey[]>> = {
  write: [
    'setup_per_transfer',
    'gap_per_packet',
    'write_path.clock',
    'write_path.time_per_transfer',
    'write_path.transfer_interval',
    'credit_return',
  ],
  read: [
    'setup_per_transfer',
    'gap_per_packet',
    'read_path.clock',
    'read_path.time_per_transfer',
    'outstanding_requests',
    'read_latency',
  ],
};

const nanoseconds = (most: number) => fc.double({ min: 0.01, max: most, noNaN: true });

const valuesFor = (kind: Kind) =>
  fc.record<Record<string, number>>({
    setup_per_transfer: nanoseconds(4000).map((v) => v * 1e-9),
    gap_per_packet: nanoseconds(60).map((v) => v * 1e-9),
    [`${kind}_path.clock`]: fc.integer({ min: 2e6, max: 5e8 }),
    [`${kind}_path.time_per_transfer`]: nanoseconds(500).map((v) => v * 1e-9),
    ...(kind === 'write'
      ? {
          'write_path.transfer_interval': nanoseconds(3000).map((v) => v * 1e-9),
          credit_return: nanoseconds(3000).map((v) => v * 1e-9),
        }
      : {
          outstanding_requests: fc.integer({ min: 1, max: 32 }),
          read_latency: fc.integer({ min: 200, max: 2000 }).map((v) => v * 1e-9),
        }),
  }) as unknown as fc.Arbitrary<Values>;

describe.each(['write', 'read'] as const)('a compiled %s', (kind) => {
  const c = nicCase(kind);
  const model = new PointModel(c);
  const fixed = { [`${kind}_path.width`]: 64 };
  const compiled = new Map(
    sizes.map((size) => [size, new CompiledPoint(c, pointAt(kind, size), fixed, freeOf[kind])]),
  );

  test('takes the time that the case takes, to the rounding of delays to ticks', () => {
    fc.assert(
      fc.property(valuesFor(kind), fc.constantFrom(...sizes), (values, size) => {
        // How a set-up lies beside a window is left out of the compiled form.
        const held = { ...values, setup_per_transfer: 0 };
        const exact = model.predict({ ...fixed, ...held }, pointAt(kind, size)).seconds;
        const fast = compiled.get(size)!.seconds(held);
        // Each delay is rounded up to a tick of 2 ps, a pause at every packet, and kept to five digits.
        const ticks = 4 + 2 * Math.ceil(size / 64);
        expect(Math.abs(fast - exact)).toBeLessThan(ticks * 2e-12 + 1e-4 * exact);
      }),
      { numRuns: 150, seed: 11 },
    );
  });

  test('its smooth time lies above the exact one and meets it as it sharpens', () => {
    fc.assert(
      fc.property(valuesFor(kind), fc.constantFrom(...sizes), (values, size) => {
        const point = compiled.get(size)!;
        const exact = point.seconds(values);
        const [soft, sharp] = [3, 9].map((k) => point.smooth(values, freeOf[kind], k).seconds);
        expect(sharp).toBeGreaterThanOrEqual(exact * (1 - 1e-12));
        expect(soft).toBeGreaterThanOrEqual(sharp! * (1 - 1e-12));
        expect(sharp! / exact - 1).toBeLessThan(0.005);
      }),
      { numRuns: 100, seed: 12 },
    );
  });

  test('its slopes are those of its own differences', () => {
    fc.assert(
      fc.property(valuesFor(kind), fc.constantFrom(...sizes), (values, size) => {
        const point = compiled.get(size)!;
        const { slopes, seconds } = point.smooth(values, freeOf[kind], 3);
        freeOf[kind].forEach((key, j) => {
          const value = values[key]!;
          const step = value * 1e-5;
          const at = (v: number) => point.smooth({ ...values, [key]: v }, freeOf[kind], 3).seconds;
          const difference = (at(value + step) - at(value - step)) / 2;
          expect(Math.abs(slopes[j]! * step - difference)).toBeLessThan(seconds * 2e-8);
        });
      }),
      { numRuns: 60, seed: 13 },
    );
  });

  test('is evaluated ten thousand times in a fraction of a second', () => {
    const point = compiled.get(512)!;
    const values = fc.sample(valuesFor(kind), { numRuns: 1, seed: 5 })[0]!;
    const before = performance.now();
    for (let i = 0; i < 10_000; i++) point.smooth(values, freeOf[kind], 9);
    expect(performance.now() - before).toBeLessThan(1500);
  });
});

test('over a switch each delay counts in ticks of its own link', () => {
  const c = recorderCase();
  const model = new PointModel(c);
  fc.assert(
    fc.property(valuesFor('write'), fc.constantFrom(...sizes), (values, size) => {
      const held = { ...values, setup_per_transfer: 0 };
      const fixed = { 'write_path.width': 16 };
      const point = new CompiledPoint(c, pointAt('write', size), fixed, freeOf.write);
      const exact = model.predict({ ...fixed, ...held }, pointAt('write', size)).seconds;
      // A tick of 2.5 GT/s x4 is 100 ps, and a packet of 128 B takes one pause.
      const ticks = 4 + 2 * Math.ceil(size / 64);
      expect(Math.abs(point.seconds(held) - exact)).toBeLessThan(ticks * 1e-10 + 1e-4 * exact);
    }),
    { numRuns: 60, seed: 14 },
  );
});

test('about the values of an explanation a prediction is exact, set-up and all', () => {
  const c = nicCase('read');
  const values = { setup_per_transfer: 3e-7, outstanding_requests: 8, read_latency: 5e-7 };
  const known = { name: 'x', supported: true, values, keys: [], moves: [], ranges: {} };
  const precision = precisionOf([], []);
  const knowledge = { case: c, explanations: [{ ...known, precision }], kinds: {} };
  for (const size of sizes) {
    const exact = new PointModel(c).predict(values, pointAt('read', size)).seconds;
    const near = exactAt(knowledge, knowledge.explanations[0]!, pointAt('read', size));
    expect(near.seconds(values)).toBeCloseTo(exact, 15);
  }
});

describe('rates side by side', () => {
  test('reads and writes in turn take no more than each alone', () => {
    const model = new PointModel(nicCase('both'));
    const [write, read] = [pointAt('write', 512), pointAt('read', 512, 1)];
    const rates = model.together({}, [write, read]);
    [write, read].forEach((point, i) => {
      expect(rates[i]).toBeGreaterThan(0);
      expect(rates[i]).toBeLessThanOrEqual(model.predict({}, point).rate * (1 + 1e-9));
    });
  });
});
