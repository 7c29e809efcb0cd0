/**
 * Published transfers that were not fitted, against their ranges. Source: open data set with Neugebauer et
 * al., SIGCOMM 2018, commit b2abf2f (network card in three servers).
 */
import { expect, test } from 'vitest';
import { calibrate, predictPoints, predictTogether } from '../../src/insight/calibrate/index.ts';
import { nicCase, type PublishedPoint, pointAt } from './calibrate-cases.ts';
import { heldOut, measured, of, rows } from './calibrate-heldout.ts';

test('half of the sizes predict the other half, nine in ten within their ranges', () => {
  const found = (['write', 'read'] as const).flatMap((kind) =>
    [0, 1].map((from) => {
      const fitted = of(kind, 1).filter((_, i) => i % 2 === from);
      const others = of(kind).filter((r) => !fitted.some((f) => f.sizeBytes === r.sizeBytes));
      const held = heldOut(calibrate(measured(fitted), nicCase(kind))!, others);
      expect(held.median, `${kind}s from ${from}`).toBeLessThan(0.08);
      // Writes from the second size on: 513 B and 1025 B are just above, on all hosts.
      expect(held.inside, `${kind}s from ${from}`).toBeGreaterThanOrEqual(0.75);
      return held.inside;
    }),
  );
  expect(found.reduce((sum, part) => sum + part, 0) / found.length).toBeGreaterThanOrEqual(0.88);
});

test('small transfers predict large ones: what lies beyond them is said to', () => {
  for (const kind of ['write', 'read'] as const) {
    const fitted = of(kind, 1).filter((r) => r.sizeBytes <= 256);
    const calibration = calibrate(measured(fitted), nicCase(kind))!;
    const others = of(kind).filter((r) => r.sizeBytes > 256);
    expect(heldOut(calibration, others).inside).toBeGreaterThanOrEqual(0.85);
    const [first] = predictPoints(calibration, [others.at(-1)!]);
    expect(first!.extrapolated).toEqual(['size 2048 B, above 256 B, where the measurements end']);
  }
});

test('reads and writes are fitted together, each in its own parameters', () => {
  const at = (r: PublishedPoint) => ({ ...r, streamIndex: r.kind === 'read' ? 1 : 0 });
  const fitted = rows.filter((r) => r.host === 1).map(at);
  const others = rows.filter((r) => r.host !== 1).map(at);
  const calibration = calibrate(measured(fitted), nicCase('both'))!;
  const found = heldOut(calibration, others);
  expect(found.inside).toBeGreaterThanOrEqual(0.85);
  expect(found.median).toBeLessThan(0.04);
  expect(Object.keys(calibration.kinds).sort()).toEqual(['read', 'write']);
  // Reads and writes in turn on host 1, Gb/s of one direction: same set, none of it fitted.
  const inTurn = [
    [16, 5.809],
    [64, 23.046],
    [129, 27.149],
    [256, 42.049],
    [512, 42.676],
    [1025, 42.507],
    [2048, 48.959],
  ] as const;
  const within = inTurn.filter(([size, rate]) => {
    const pair = predictTogether(calibration, [pointAt('write', size), pointAt('read', size, 1)]);
    const [low, high] = [pair[0]!.low * 8e-9, pair[0]!.high * 8e-9];
    return rate >= low && rate <= high;
  });
  expect(within.length).toBeGreaterThanOrEqual(6);
});
