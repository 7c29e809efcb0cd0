/**
 * Calibration against published transfers: what is found, what is held out, what is refused. Sources:
 * open data set with Neugebauer et al., SIGCOMM 2018, commit b2abf2f (network card in three servers);
 * Microchip, PolarFire Family PCI Express User Guide, §3.5.1 and §3.5.2 (FPGA kit).
 */
import { describe, expect, test } from 'vitest';
import {
  type Calibration,
  calibrate,
  intervalsOf,
  predictPoints,
  unseparated,
} from '../../src/insight/calibrate/index.ts';
import type { Kind } from '../../src/insight/calibrate/parameters.ts';
import {
  caseFrom,
  type KitRow,
  kitCase,
  kitRows,
  measuredAt,
  nicCase,
  nicText,
  pointAt,
} from './calibrate-cases.ts';
import { heldOut, measured, of } from './calibrate-heldout.ts';

const fittedAt = ({ explanations }: Calibration, key: string) =>
  explanations[0]!.values[key as keyof (typeof explanations)[0]['values']]!;

describe('the network card, all sizes of one host', () => {
  const writes = calibrate(measured(of('write', 1)), nicCase('write'))!;
  const reads = calibrate(measured(of('read', 1)), nicCase('read'))!;

  test('writes: steps of 128 B, as their jumps past 128 B and 256 B show', () => {
    expect(writes.explanations[0]!.name).toBe('writes: data path, interval and set-up (128 B)');
    expect(fittedAt(writes, 'write_path.width')).toBe(128);
    // 47.40 million writes of 64 B a second are published: 21.1 ns each.
    expect(fittedAt(writes, 'write_path.transfer_interval') * 1e9).toBeCloseTo(1e3 / 47.4, 0);
  });

  test('reads: steps of 64 B', () => {
    expect(fittedAt(reads, 'read_path.width')).toBe(64);
  });

  test('the other hosts lie within their ranges, though nothing of them was fitted', () => {
    const ofWrites = heldOut(writes, [...of('write', 2), ...of('write', 3)]);
    const ofReads = heldOut(reads, [...of('read', 2), ...of('read', 3)]);
    expect(ofWrites.inside).toBeGreaterThanOrEqual(0.85);
    expect(ofReads.inside).toBeGreaterThanOrEqual(0.85);
    expect(ofWrites.median).toBeLessThan(0.03);
    expect(ofReads.median).toBeLessThan(0.06);
  });

  test('ranges are no wider than they must be', () => {
    for (const calibration of [writes, reads]) {
      const kind = calibration.points[0]!.spec.kind;
      const widths = predictPoints(calibration, of(kind, 2)).map(
        ({ low, high, expected }) => (high - low) / expected,
      );
      widths.sort((a, b) => a - b);
      expect(widths[widths.length >> 1]).toBeLessThan(0.25);
    }
  });

  test('no range goes above the ceiling', () => {
    for (const { high, ceiling, expected } of predictPoints(writes, of('write'))) {
      expect(high).toBeLessThanOrEqual(Math.max(ceiling, expected));
    }
  });
});

describe('the FPGA kit', () => {
  const spec = (row: KitRow) =>
    pointAt(row.kind, 65_536, 0, { generation: row.generation, width: row.width });
  const some = (kind: Kind, engine: KitRow['engine']) =>
    kitRows().filter((r) => r.kind === kind && r.engine === engine);

  test('writes above the ceiling of their settings are not fitted', () => {
    const all = some('write', 'fabric');
    const points = all.map((r) => measuredAt(spec(r), r.rate));
    const calibration = calibrate(points, kitCase('write', 'fabric'))!;
    // x1 and x2 of both generations: impossible at 128 B, see docs/accuracy.md.
    expect(calibration.impossible).toHaveLength(4);
    expect(calibration.points).toHaveLength(all.length - 4);
  });

  test('reads at 2.5 GT/s predict those at 5 GT/s, but for one', () => {
    const above: string[] = [];
    for (const engine of ['built-in', 'fabric'] as const) {
      const points = some('read', engine).filter((r) => r.generation === 1);
      const others = some('read', engine).filter((r) => r.generation === 2);
      const fitted = points.map((r) => measuredAt(spec(r), r.rate));
      const calibration = calibrate(fitted, kitCase('read', engine))!;
      const predicted = predictPoints(calibration, others.map(spec));
      others.forEach((r, i) => {
        const { low, high, extrapolated } = predicted[i]!;
        expect(r.rate, `${engine} x${r.width}`).toBeGreaterThanOrEqual(low);
        if (r.rate > high) above.push(`${engine} x${r.width}`);
        expect(extrapolated[0]).toMatch(/^5 GT\/s x\d, .*where nothing was measured$/);
      });
    }
    // 483 MB/s became 665 MB/s on the same four lanes: faster than any of the explanations makes it.
    expect(above).toEqual(['fabric x4']);
  });
});

test('what a processor moves, or has no size of its own, is not fitted', () => {
  const text = nicText('write').replace(
    'direction: to host',
    'direction: to host\n    moved_by: "processor, uncached"',
  );
  const moved = caseFrom('server-nic', text);
  expect(calibrate(measured(of('write', 1)), moved)).toBeUndefined();
  const [first, ...rest] = measured(of('write', 1));
  const found = calibrate([{ ...first!, sizeAssumed: true }, ...rest], nicCase('write'), {
    explanations: ['writes: set-up'],
  })!;
  expect(found.unfit.map(({ why }) => why)).toEqual(['its size is not stated']);
});

describe('what the measurements cannot tell', () => {
  const one = of('write', 1).filter((r) => r.sizeBytes === 256);

  test('one size alone: set-up and pause explain it equally, and both are kept', () => {
    const calibration = calibrate(measured(one), nicCase('write'))!;
    const names = calibration.explanations.filter((e) => e.supported).map((e) => e.name);
    expect(names).toContain('writes: set-up');
    expect(names).toContain('writes: pause per packet');
  });

  test('one size alone: a set-up and a pause at once are not separated', () => {
    const explanations = ['writes: set-up and pause per packet'];
    const calibration = calibrate(measured(one), nicCase('write'), { explanations })!;
    const { fitted } = calibration.choice.ranking[calibration.choice.chosen]!;
    expect(unseparated(fitted).join()).toContain('set-up per transfer');
    expect(unseparated(fitted).join()).toContain('pause after each packet');
    const intervals = intervalsOf(calibration.explanations[0]!, calibration.kinds);
    expect(intervals.some((i) => !i.settled)).toBe(true);
  });

  test('a second size far away separates them', () => {
    const two = of('write', 1).filter((r) => [16, 256, 1024, 2048].includes(r.sizeBytes));
    const explanations = ['writes: set-up and pause per packet'];
    const calibration = calibrate(measured(two), nicCase('write'), { explanations })!;
    const { fitted } = calibration.choice.ranking[calibration.choice.chosen]!;
    expect(fitted.directions.every((d) => (d.relativeError ?? 9) < 9)).toBe(true);
  });

  test('nothing measured gives no calibration', () => {
    expect(calibrate([], nicCase('write'))).toBeUndefined();
  });

  test('a kind that was not measured keeps the corners of what is unknown', () => {
    const calibration = calibrate(measured(of('write', 1)), nicCase('both'))!;
    const [read] = predictPoints(calibration, [pointAt('read', 64, 1)]);
    expect(read!.kind).toBe('bound');
    expect(read!.extrapolated).toEqual(['reads, of which none was measured']);
    // As published for reads of 64 B on host 1: 32.094 Gb/s.
    expect(read!.low).toBeLessThan(32.094e9 / 8);
  });
});

test('one gross reading counts little and moves the rest little', () => {
  const good = of('write', 1);
  const explanations = ['writes: data path, interval and set-up', 'writes: set-up', 'writes: link'];
  const clean = calibrate(measured(good), nicCase('write'), { explanations })!;
  const points = good.map((r) => measuredAt(r, r.sizeBytes === 512 ? r.rate / 3 : r.rate));
  const spoilt = calibrate(points, nicCase('write'), { explanations })!;
  const at = spoilt.points.find(({ spec }) => spec.sizeBytes === 512)!;
  expect(at.weight).toBeLessThan(0.2);
  const clocks = [clean, spoilt].map((c) => fittedAt(c, 'write_path.clock'));
  expect(Math.abs(clocks[1]! / clocks[0]! - 1)).toBeLessThan(0.05);
});

test('the same points give the same calibration, to the last bit', () => {
  const once = () => {
    const wish = {
      explanations: ['reads: link', 'reads: reads in flight', 'reads: data path and hold'],
    };
    const found = calibrate(measured(of('read', 1)), nicCase('read'), wish)!;
    const { explanations, choice, kinds } = found;
    return JSON.stringify([explanations, kinds, choice.ranking.map((r) => r.difference)]);
  };
  expect(once()).toBe(once());
});
