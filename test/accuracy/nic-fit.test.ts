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
  everySecond,
  fitted,
  isFitPoint,
  meanSquare,
  meets,
  othersOf,
  points,
  reads,
  without,
  writes,
} from './nic-fit.ts';
import { mixedPoints } from './nic-mixed.ts';
import { median } from './results.ts';
import { minimise } from './simplex.ts';

const write = fitted(writes);
const read = fitted(reads);

const pointOf = (kind: Kind, bytes: number, host = 1) =>
  points.find((p) => p.kind === kind && p.bytes === bytes && p.host === host)!;

test('the simplex finds a known minimum in a curved valley', () => {
  // Rosenbrock, The Computer Journal 3, 1960, p. 175: smallest at (1, 1).
  const valley = ([x = 0, y = 0]: readonly number[]) => 100 * (y - x * x) ** 2 + (1 - x) ** 2;
  const [x, y] = minimise(valley, [0.3, 2], 400);
  expect(x).toBeCloseTo(1, 4);
  expect(y).toBeCloseTo(1, 4);
});

test('at most five values a direction, fitted on every second size of one host', () => {
  expect(everySecond(0)).toEqual([16, 64, 128, 192, 257, 513, 1025, 2048]);
  for (const plan of [writes, reads]) {
    expect(plan.free.length).toBeLessThanOrEqual(5);
    const seen = points.filter((p) => p.kind === plan.kind && isFitPoint(plan, p));
    expect(seen.map((p) => p.bytes)).toEqual(everySecond(0));
    expect(othersOf(plan)).toHaveLength(37);
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
  // Asked: median under 5 %, worst under 12 %. The bounds are what is reached, rounded up.
  test.each(hosts)('writes, host %i: median under 1.3 %, worst under 4 %', (host) => {
    const errors = errorsOf(writes, write, host);
    expect(meets(errors)).toBe(true);
    expect(errors.median).toBeLessThan(0.013);
    expect(errors.worst).toBeLessThan(0.04);
  });

  test.each(hosts)('reads, host %i: median under 4.8 %, worst under 11.8 %', (host) => {
    const errors = errorsOf(reads, read, host);
    expect(meets(errors)).toBe(true);
    expect(errors.median).toBeLessThan(0.048);
    expect(errors.worst).toBeLessThan(0.118);
  });

  test('fitted on the other half, writes stay within 7 % and reads within 13 %, over 12 on host 3', () => {
    const [w, r] = [writes, reads].map((plan) => ({ ...plan, sizes: everySecond(1) }));
    const [otherWrite, otherRead] = [fitted(w!), fitted(r!)];
    for (const host of hosts) {
      expect(errorsOf(w!, otherWrite, host).worst).toBeLessThan(0.07);
      expect(errorsOf(r!, otherRead, host).worst).toBeLessThan(0.13);
      // The page says so: reads are at the edge of what is asked.
      expect(meets(errorsOf(r!, otherRead, host))).toBe(host !== 3);
    }
  });

  test('reads: what recurs with requests of 512 B has the same sign on every host', () => {
    for (const host of hosts) {
      for (const bytes of [513, 1024, 1025]) {
        expect(errorAt(pointOf('read', bytes, host), read)).toBeGreaterThan(0);
      }
      for (const bytes of [512, 1536, 2048]) {
        expect(errorAt(pointOf('read', bytes, host), read)).toBeLessThan(0);
      }
    }
  });
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
      const device = kind === 'write' ? write : read;
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
  const growthOf = (some: ReturnType<typeof othersOf>, poorer: Device, device: Device) =>
    Math.sqrt(meanSquare(some, poorer) / meanSquare(some, device));

  // Root mean square of the errors at the points not fitted grows at least by the factor given.
  test.each([
    ['writes without their data path', writes, write, path, 4],
    ['writes without the least interval', writes, write, ['path.transfer_interval'], 2],
    ['writes without the set-up', writes, write, ['setup_per_transfer'], 1.8],
    ['reads without their data path', reads, read, [...path, 'path.time_per_transfer'], 3],
    ['reads without the time for each transfer', reads, read, ['path.time_per_transfer'], 2],
  ] as const)('%s', (_, plan, device, ids, factor) => {
    const poorer = fitted(without(plan, ...ids));
    expect(growthOf(othersOf(plan), poorer, device)).toBeGreaterThan(factor);
  });

  test('but the other points hardly tell how many reads are in flight', () => {
    const allTags = without(reads, 'outstanding_requests');
    const poorer = fitted(allTags);
    const growth = growthOf(othersOf(reads), poorer, read);
    expect(growth).toBeGreaterThan(1);
    expect(growth).toBeLessThan(1.1);
    // With all 32 tags host 3 is too fast where it now is too slow, and over what is asked.
    expect(meets(errorsOf(allTags, poorer, 3))).toBe(false);
    for (const bytes of [16, 32, 64]) {
      expect(errorAt(pointOf('read', bytes, 3), poorer)).toBeGreaterThan(0);
      expect(errorAt(pointOf('read', bytes, 3), read)).toBeLessThan(0);
    }
  });

  test('width of a step: any other one makes the writes and the reads worse', () => {
    for (const [plan, device] of [
      [writes, write],
      [reads, read],
    ] as const) {
      for (const width of [32, 64, 128, 256].filter((w) => w !== device['path.width'])) {
        const free = plan.free.map((f) => (f.id === 'path.width' ? { ...f, values: [width] } : f));
        const other = fitted({ ...plan, free });
        expect(growthOf(othersOf(plan), other, device)).toBeGreaterThan(1.3);
      }
    }
  });
});

test('hosts differ in small reads, by the sign and rough size that their read latency gives', () => {
  const wrong = { own: 0, near: 0 };
  for (const bytes of [16, 32, 64]) {
    const far = pointOf('read', bytes, 3);
    const near = pointOf('read', bytes, 1);
    const measured = far.measured / near.measured - 1;
    expect(measured).toBeLessThan(-0.1);
    const model = rateOf(far, read) / rateOf(near, read) - 1;
    // By latency alone a host at 506 instead of 426 ns would be 16 % slower; measured are 10 to 11 %.
    expect(model).toBeLessThan(-0.1);
    expect(Math.abs(model - measured)).toBeLessThan(0.08);
    wrong.own += errorAt(far, read) ** 2;
    wrong.near += (rateOf(near, read) / far.measured - 1) ** 2;
  }
  // Taken for host 1 it would be too fast by more than it now is too slow, the three sizes together.
  expect(wrong.near).toBeGreaterThan(2 * wrong.own);
  expect(readLatency[3] - readLatency[1]).toBe(80);
});

describe('reads and writes in turn, none of them fitted', () => {
  const mixed = mixedPoints(write, read);
  const errors = mixed.map((p) => p.predicted / p.measured - 1);

  test('median under 9 %, worst under 24 %, and never slower than measured by more than 5 %', () => {
    expect(mixed).toHaveLength(45);
    expect(median(errors.map(Math.abs))).toBeLessThan(0.09);
    expect(Math.max(...errors)).toBeLessThan(0.24);
    expect(Math.min(...errors)).toBeGreaterThan(-0.05);
  });

  test('those that the device holds for one direction, small or one byte over, are within 6 %', () => {
    for (const p of mixed.filter(({ bytes }) => bytes <= 65 || bytes === 129 || bytes === 257)) {
      expect(Math.abs(p.predicted / p.measured - 1)).toBeLessThan(0.06);
    }
  });

  test('by the model the pair goes as fast as the slower of both by itself', () => {
    const slowed = { ...read, setup_per_transfer: write.setup_per_transfer! };
    for (const { host, bytes, predicted } of mixed) {
      const reading = rateOf(pointOf('read', bytes, host), slowed);
      const slower = Math.min(reading, rateOf(pointOf('write', bytes, host), write));
      expect(Math.abs(predicted / slower - 1)).toBeLessThan(0.001);
    }
  });

  test('the set-up of the writes costs small reads a hundredth, and in turn nothing', () => {
    // With so many reads out, answers come back while the engine prepares; the writes hide the rest.
    const { setup_per_transfer } = write;
    const slowed = { ...read, setup_per_transfer: setup_per_transfer! };
    const small = pointOf('read', 64);
    expect(Math.abs(1 - rateOf(small, slowed) / rateOf(small, read) - 0.011)).toBeLessThan(0.003);
    const without = mixedPoints({ ...write, setup_per_transfer: 0 }, read);
    mixed.forEach(({ bytes, predicted }, i) => {
      if (bytes <= 65) expect(1 - predicted / without[i]!.predicted).toBeCloseTo(0, 9);
    });
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
  expect(Math.sqrt(meanSquare(othersOf(writes), bare))).toBeGreaterThan(0.2);
  expect(Math.sqrt(meanSquare(othersOf(reads), bare))).toBeGreaterThan(0.2);
});
