/** What to measure next: it narrows what was asked, and tells apart what was not. */
import { describe, expect, test } from 'vitest';
import { calibrate, intervalsOf, unseparated } from '../../src/insight/calibrate/index.ts';
import type { Values } from '../../src/insight/calibrate/parameters.ts';
import { candidatesOf, nextMeasurements } from '../../src/insight/next/next.ts';
import { PointModel, type PointSpec } from '../../src/insight/point-model.ts';
import { measuredAt, nicCase, pointAt } from './calibrate-cases.ts';

const c = nicCase('write');
const model = new PointModel(c);
/** A device that needs both, so that no single explanation is right. */
const truth: Values = { setup_per_transfer: 3e-7, gap_per_packet: 2e-8 };
const taken = (spec: PointSpec) => measuredAt(spec, model.predict(truth, spec).rate);
const both = { explanations: ['writes: set-up and pause per packet'] };
const target = pointAt('write', 65_536);

describe('writes of one size alone', () => {
  const one = [pointAt('write', 1024)];
  const found = calibrate(one.map(taken), c, both)!;
  const next = nextMeasurements(found, target, one);

  test('set-up and pause are not separated, and the next measurement separates them', () => {
    const before = found.choice.ranking[found.choice.chosen]!.fitted;
    expect(unseparated(before)).toHaveLength(1);
    const more = [...one, ...next.map(({ spec }) => spec)];
    const after = calibrate(more.map(taken), c, both)!;
    expect(unseparated(after.choice.ranking[after.choice.chosen]!.fitted)).toEqual([]);
    for (const { key, low, high } of intervalsOf(after.explanations[0]!, after.kinds)) {
      expect(truth[key]!, key).toBeGreaterThanOrEqual(low);
      expect(truth[key]!, key).toBeLessThanOrEqual(high);
    }
  });

  test('at most three are named, best first, none of them measured already', () => {
    expect(next.length).toBeGreaterThan(0);
    expect(next.length).toBeLessThanOrEqual(3);
    const after = next.map((n) => n.after);
    expect([...after].sort((a, b) => a - b)).toEqual(after);
    for (const { spec, before, after: then } of next) {
      expect(spec.sizeBytes).not.toBe(1024);
      expect(then).toBeLessThan(before);
    }
  });

  test('what is expected of it comes about: the range of the target shrinks at least so far', () => {
    const [best] = next;
    const more = calibrate([...one, best!.spec].map(taken), c, both)!;
    const again = nextMeasurements(more, target, [...one, best!.spec]);
    const left = again[0]?.before ?? 0;
    // The scatter of a simulated measurement is nothing: the estimate errs to the wide side.
    expect(left).toBeLessThanOrEqual(best!.after * 1.1);
  });
});

test('explanations that agree on the target are told apart where they differ', () => {
  const sizes = [256, 1024, 4096, 16_384].map((size) => pointAt('write', size));
  // Steps of 64 B and of 128 B cannot be told by sizes that are multiples of both.
  const steps: Values = { 'write_path.width': 128, 'write_path.clock': 4e7 };
  const points = sizes.map((s) =>
    measuredAt(s, model.predict({ setup_per_transfer: 0, gap_per_packet: 0, ...steps }, s).rate),
  );
  const found = calibrate(points, c, { explanations: ['writes: data path', 'writes: link'] })!;
  expect(found.explanations.filter((e) => e.supported).length).toBeGreaterThan(1);
  const telling = nextMeasurements(found, pointAt('write', 4096), sizes).filter(
    ({ separates }) => separates.length > 0,
  );
  expect(telling.length).toBeGreaterThan(0);
  // Only a size that is no multiple of both can.
  expect(telling[0]!.spec.sizeBytes % 128).not.toBe(0);
});

test('candidates hold a size just over a packet, and another payload size', () => {
  const found = calibrate([taken(pointAt('write', 1024))], c, both)!;
  const candidates = candidatesOf(found, target, []);
  // Max_Payload_Size of the case is 256 B.
  expect(candidates.map(({ sizeBytes }) => sizeBytes)).toContain(257);
  expect(candidates.some(({ settings }) => settings.Max_Payload_Size !== undefined)).toBe(true);
});
