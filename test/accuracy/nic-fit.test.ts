/**
 * The fitted network card: what is reached at the points not fitted, the dips one byte over, and that
 * every fitted value is needed. Source of all measurements: open data set with Neugebauer et al., SIGCOMM
 * 2018, commit b2abf2f.
 */
import { describe, expect, test } from 'vitest';
import { answerCase } from '../../src/engine/index.ts';
import { type Device, hosts, type Kind, rateOf, readLatency, withDevice } from './nic.ts';
import {
  errorAt,
  errorsOf,
  fitted,
  isFitPoint,
  meanSquare,
  meets,
  type Plan,
  points,
  reads,
  readsWithTime,
  without,
  writes,
} from './nic-fit.ts';
import { mixedPoints } from './nic-mixed.ts';
import { everySecond } from './nic-section.ts';
import { median } from './results.ts';
import { minimise } from './simplex.ts';

const write = fitted(writes);
const read = fitted(reads);
const timed = fitted(readsWithTime);

const others = (plan: Plan) => points.filter((p) => p.kind === plan.kind && !isFitPoint(plan, p));
const pointOf = (kind: Kind, bytes: number, host = 1) =>
  points.find((p) => p.kind === kind && p.bytes === bytes && p.host === host)!;

test('the simplex finds a known minimum in a curved valley', () => {
  // Rosenbrock, The Computer Journal 3, 1960, p. 175: smallest at (1, 1).
  const valley = ([x = 0, y = 0]: readonly number[]) => 100 * (y - x * x) ** 2 + (1 - x) ** 2;
  const [x, y] = minimise(valley, [0.3, 2], 400);
  expect(x).toBeCloseTo(1, 4);
  expect(y).toBeCloseTo(1, 4);
});

test('at most five values and six points a direction, all points of one host', () => {
  for (const plan of [writes, reads, readsWithTime]) {
    expect(plan.free.length).toBeLessThanOrEqual(5);
    expect(points.filter((p) => p.kind === plan.kind && isFitPoint(plan, p))).toHaveLength(6);
    expect(others(plan)).toHaveLength(39);
  }
});

test('a fit is the same every time', () => {
  expect(fitted(writes)).toEqual(write);
});

test('the rate of a fitted corner is that of a case that states the values', () => {
  for (const [kind, device] of [
    ['write', write],
    ['read', read],
  ] as const) {
    for (const p of points.filter(
      (x) => x.kind === kind && [64, 129, 513, 2048].includes(x.bytes),
    )) {
      const text = withDevice(p.row.source.text, kind, p.host, device);
      const answer = answerCase({ ...p.row.source, text }, p.row.library, {
        fit: false,
        rate: true,
      });
      if (!answer.ok) throw new Error(JSON.stringify(answer.problems));
      const { expected } = answer.value.rate!.streams[0]!.sustained;
      expect(expected / rateOf(p, device)).toBeCloseTo(1, 9);
    }
  }
});

describe('points not fitted', () => {
  // Asked: median under 5 %, worst under 12 %. The bounds are what is reached, a tenth of it to spare.
  test.each(hosts)('writes, host %i: median under 1 %, worst under 6 %', (host) => {
    const errors = errorsOf(writes, write, host);
    expect(meets(errors)).toBe(true);
    expect(errors.median).toBeLessThan(0.01);
    expect(errors.worst).toBeLessThan(0.06);
  });

  test.each(hosts)('reads, host %i: with a time for each transfer all is met', (host) => {
    const errors = errorsOf(readsWithTime, timed, host);
    expect(meets(errors)).toBe(true);
    expect(errors.median).toBeLessThan(0.048);
    expect(errors.worst).toBeLessThan(0.118);
  });

  test('reads in whole steps only: median under 8 %, worst under 14 %, and no host meets both', () => {
    for (const host of hosts) {
      const errors = errorsOf(reads, read, host);
      expect(errors.median).toBeLessThan(0.08);
      expect(errors.worst).toBeLessThan(0.14);
      expect(meets(errors)).toBe(false);
    }
  });

  test.each([0, 1] as const)(
    'writes fitted on every second size from %i on stay within 0.07',
    (from) => {
      const plan = everySecond(writes, from);
      for (const host of hosts) expect(errorsOf(plan, fitted(plan), host).worst).toBeLessThan(0.07);
    },
  );
});

describe('one byte over a step', () => {
  const dip = (kind: Kind, bytes: number, rate: (p: ReturnType<typeof pointOf>) => number) =>
    rate(pointOf(kind, bytes + 1)) / rate(pointOf(kind, bytes)) - 1;

  // 64 to 65 B is no dip for writes, whose steps are of 128 B: both rise by 1 %.
  test.each([
    ['write', 64],
    ['write', 128],
    ['write', 256],
    ['write', 512],
    ['write', 1024],
    ['read', 64],
    ['read', 128],
    ['read', 256],
    ['read', 512],
    ['read', 1024],
  ] as const)(
    '%s of %i B: the change has the sign and rough size of the measured one',
    (kind, bytes) => {
      const device = kind === 'write' ? write : timed;
      const measured = dip(kind, bytes, (p) => p.measured);
      const model = dip(kind, bytes, (p) => rateOf(p, device));
      expect(Math.sign(model)).toBe(Math.sign(measured));
      // Largest miss: 512 to 513 B, where reads lose 23 % and the model 10 %.
      expect(Math.abs(model - measured)).toBeLessThan(kind === 'write' ? 0.06 : 0.13);
    },
  );
});

describe('every fitted value is needed: without it the rest, fitted anew, does clearly worse', () => {
  const path = ['path.width', 'path.clock'] as const;
  // Root mean square of the errors at the points not fitted grows at least by the factor given.
  test.each([
    ['writes without their data path', writes, write, path, 4],
    ['writes without the least interval', writes, write, ['transfer_interval'], 2],
    ['writes without the set-up', writes, write, ['setup_per_transfer'], 1.8],
    ['reads without their data path', readsWithTime, timed, [...path, 'path.time_per_transfer'], 3],
    [
      'reads without the time for each transfer',
      readsWithTime,
      timed,
      ['path.time_per_transfer'],
      1.4,
    ],
  ] as const)('%s', (_, plan, device, ids, factor) => {
    const poorer = fitted(without(plan, ...ids));
    const growth = Math.sqrt(meanSquare(others(plan), poorer) / meanSquare(others(plan), device));
    expect(growth).toBeGreaterThan(factor);
  });

  test('reads with all 32 tags in flight: worse where these bind, up to 64 B', () => {
    const small = others(readsWithTime).filter((p) => p.bytes <= 64);
    const poorer = fitted(without(readsWithTime, 'outstanding_requests'));
    const growth = Math.sqrt(meanSquare(small, poorer) / meanSquare(small, timed));
    expect(growth).toBeGreaterThan(1.4);
  });

  test('width of a step: any other one makes the writes and the reads worse', () => {
    for (const [plan, device] of [
      [writes, write],
      [readsWithTime, timed],
    ] as const) {
      for (const width of [32, 64, 128, 256].filter((w) => w !== device['path.width'])) {
        const free = plan.free.map((f) => (f.id === 'path.width' ? { ...f, values: [width] } : f));
        const other = fitted({ ...plan, free });
        expect(meanSquare(others(plan), other)).toBeGreaterThan(
          1.5 * meanSquare(others(plan), device),
        );
      }
    }
  });
});

test('hosts differ in small reads, and their read latency alone accounts for it', () => {
  for (const bytes of [16, 32, 64]) {
    const far = pointOf('read', bytes, 3);
    const near = pointOf('read', bytes, 1);
    const measured = far.measured / near.measured - 1;
    expect(measured).toBeLessThan(-0.1);
    const model = rateOf(far, timed) / rateOf(near, timed) - 1;
    // By latency alone a host at 506 instead of 426 ns would be 16 % slower; measured are 10 to 11 %.
    expect(model).toBeLessThan(-0.1);
    expect(Math.abs(model - measured)).toBeLessThan(0.08);
    // Taken for host 1 it would be too fast by more than it now is too slow.
    const asNear = rateOf(near, timed) / far.measured - 1;
    expect(asNear).toBeGreaterThan(Math.abs(errorAt(far, timed)));
  }
  expect(readLatency[3] - readLatency[1]).toBe(80);
});

describe('reads and writes in turn, none of them fitted', () => {
  const mixed = mixedPoints(write, timed);
  const errors = mixed.map((p) => p.predicted / p.measured - 1);

  test('median under 13 %, worst under 27 %, and never slower than measured by more than 3 %', () => {
    expect(mixed).toHaveLength(45);
    expect(median(errors.map(Math.abs))).toBeLessThan(0.13);
    expect(Math.max(...errors)).toBeLessThan(0.27);
    expect(Math.min(...errors)).toBeGreaterThan(-0.03);
  });

  test('those of the writes that their steps hold at 129 and 257 B are within 6 %', () => {
    for (const p of mixed.filter(({ bytes }) => bytes === 129 || bytes === 257)) {
      expect(Math.abs(p.predicted / p.measured - 1)).toBeLessThan(0.06);
    }
  });

  test('a pair is counted as one: singly, a pair would take longer than both one after the other', () => {
    const time = (rate: number, bytes: number) => bytes / rate;
    for (const p of mixed.filter(({ bytes }) => bytes >= 512)) {
      const alone = (['write', 'read'] as const).map((kind) =>
        time(pointOf(kind, p.bytes, p.host).measured, p.bytes),
      );
      const both = alone[0]! + alone[1]!;
      expect(time(p.measured, p.bytes) * 2).toBeGreaterThan(both);
      expect(time(p.measured, p.bytes)).toBeLessThan(both);
      expect(time(p.measured, p.bytes)).toBeGreaterThan(Math.max(...alone));
    }
  });
});

test('a device without any of it is far off, so the fit is not the link alone', () => {
  const bare: Device = {};
  expect(Math.sqrt(meanSquare(others(writes), bare))).toBeGreaterThan(0.2);
  expect(Math.sqrt(meanSquare(others(reads), bare))).toBeGreaterThan(0.2);
});
