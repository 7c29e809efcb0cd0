/** Bounds, weights, starts, ranks and the ways a fit ends. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type Fit,
  type LeastSquaresProblem,
  leastSquares,
} from '../../../src/numeric/fit/index.ts';
import { normals } from './random.ts';

const sizes = [1, 2, 4, 8, 16, 32];
const rate = ([a, b]: readonly number[]) => sizes.map((x) => (a! * x) / (x + b!));

function saturating(over: Partial<LeastSquaresProblem> = {}): LeastSquaresProblem {
  return {
    parameters: [
      { name: 'a', start: 1 },
      { name: 'b', start: 1 },
    ],
    observed: [0.34, 0.49, 0.68, 0.79, 0.9, 0.93],
    model: rate,
    ...over,
  };
}

function found(problem: LeastSquaresProblem, options?: Parameters<typeof leastSquares>[1]): Fit {
  const result = leastSquares(problem, options);
  if (!result.found) throw new Error(result.message);
  return result;
}

const squares = (values: readonly number[]) => values.reduce((sum, v) => sum + v * v, 0);

test('a straight line has the textbook errors: s/√Sxx and s √(1/n + x̄²/Sxx)', () => {
  const x = [1, 2, 3, 4, 5];
  const y = [2.1, 3.9, 6.2, 7.8, 10.1];
  const line = found({
    parameters: [
      { name: 'level', start: 0 },
      { name: 'slope', start: 0 },
    ],
    observed: y,
    model: ([level, slope]) => x.map((at) => level! + slope! * at),
  });
  const slope = (-2 * 2.1 + -1 * 3.9 + 7.8 + 2 * 10.1) / 10;
  const level = 6.02 - 3 * slope;
  const s = Math.sqrt(squares(y.map((v, i) => v - level - slope * x[i]!)) / 3);
  expect(line.values[0]).toBeCloseTo(level, 10);
  expect(line.values[1]).toBeCloseTo(slope, 10);
  expect(line.standardErrors![1]).toBeCloseTo(s / Math.sqrt(10), 9);
  expect(line.standardErrors![0]).toBeCloseTo(s * Math.sqrt(1 / 5 + 9 / 10), 9);
  expect(line.covariance![0]![1]).toBeCloseTo((-s * s * 3) / 10, 9);
  // t of 3 degrees of freedom, 90 % two-sided: 2.353 (NIST/SEMATECH e-Handbook, 1.3.6.7.2).
  const { low, high } = line.intervals![1]!;
  expect((high - low) / 2 / line.standardErrors![1]!).toBeCloseTo(2.353, 3);
});

describe('bounds', () => {
  test('an active bound is met exactly, and the rest is fitted as if it were known', () => {
    const bound = found(
      saturating({
        parameters: [
          { name: 'a', start: 1 },
          { name: 'b', start: 1, high: 1.5 },
        ],
      }),
    );
    const known = found({
      parameters: [{ name: 'a', start: 1 }],
      observed: saturating().observed,
      model: ([a]) => rate([a!, 1.5]),
    });
    expect(bound.values[1]).toBe(1.5);
    expect(bound.bounds).toEqual([undefined, 'high']);
    expect(bound.values[0]).toBeCloseTo(known.values[0]!, 10);
    expect(bound.standardErrors![0]).toBeCloseTo(known.standardErrors![0]!, 10);
    expect(bound.standardErrors![1]).toBe(0);
    expect(bound.degrees).toBe(5);
    expect(bound.directions.map((d) => d.name)).toEqual(['+1.00 a']);
  });
  test('a bound that is not active changes nothing', () => {
    const open = found(saturating());
    const wide = found(
      saturating({
        parameters: [
          { name: 'a', start: 1, low: 0, high: 5 },
          { name: 'b', start: 1, low: 0, high: 50 },
        ],
      }),
    );
    expect(wide.bounds).toEqual([undefined, undefined]);
    wide.values.forEach((value, j) => {
      expect(value).toBeCloseTo(open.values[j]!, 10);
    });
  });
  test('a start on the wrong bound leaves it', () => {
    const result = found(
      saturating({
        parameters: [
          { name: 'a', start: 9, low: 0, high: 3 },
          { name: 'b', start: -4, low: 0, high: 50 },
        ],
      }),
    );
    expect(result.bounds).toEqual([undefined, undefined]);
    expect(result.cost).toBeCloseTo(found(saturating()).cost, 12);
  });
  test('the model is never asked outside of the bounds', () => {
    const asked: number[] = [];
    found(
      saturating({
        parameters: [
          { name: 'a', start: 1 },
          { name: 'b', start: 1.5, low: 1.5, high: 1.5 + 1e-7 },
        ],
        model: (values) => {
          asked.push(values[1]!);
          return rate(values);
        },
      }),
    );
    expect(Math.min(...asked)).toBeGreaterThanOrEqual(1.5);
    expect(Math.max(...asked)).toBeLessThanOrEqual(1.5 + 1e-7);
  });
  test('with every parameter on a bound the fit says so and gives no error', () => {
    const result = found(
      saturating({
        parameters: [
          { name: 'a', start: 0.1, high: 0.2 },
          { name: 'b', start: 1, low: 0.9, high: 2 },
        ],
      }),
    );
    expect(result.bounds).toEqual(['high', 'low']);
    expect(result.standardErrors).toEqual([0, 0]);
    expect(result.directions).toEqual([]);
  });
});

describe('weights', () => {
  const base = saturating();
  test('a whole weight is as good as repeating the observation', () => {
    const weighted = found({ ...base, weights: [1, 1, 3, 1, 1, 1] });
    const repeated = found({
      ...base,
      observed: [...base.observed, base.observed[2]!, base.observed[2]!],
      model: (values) => {
        const y = rate(values);
        return [...y, y[2]!, y[2]!];
      },
    });
    weighted.values.forEach((value, j) => {
      expect(value).toBeCloseTo(repeated.values[j]!, 10);
    });
    expect(weighted.cost).toBeCloseTo(repeated.cost, 12);
  });
  test('a weight of zero leaves the observation out', () => {
    const without = found({
      ...base,
      observed: base.observed.slice(1),
      model: (values) => rate(values).slice(1),
    });
    const zero = found({
      ...base,
      observed: [99, ...base.observed.slice(1)],
      weights: [0, 1, 1, 1, 1, 1],
    });
    expect(zero.degrees).toBe(without.degrees);
    expect(zero.values[1]).toBeCloseTo(without.values[1]!, 9);
    expect(zero.deviation).toBeCloseTo(without.deviation!, 10);
  });
  test('a common factor of the weights changes no error', () => {
    const plain = found(base);
    const scaled = found({ ...base, weights: base.observed.map(() => 25) });
    expect(scaled.deviation).toBeCloseTo(5 * plain.deviation!, 9);
    scaled.standardErrors!.forEach((error, j) => {
      expect(error).toBeCloseTo(plain.standardErrors![j]!, 9);
    });
  });
});

describe('what the data cannot separate', () => {
  test('two parameters that enter as a product are named, and their errors are infinite', () => {
    const x = [1, 2, 3, 4];
    const result = found({
      parameters: [
        { name: 'gap', start: 2 },
        { name: 'count', start: 3 },
        { name: 'level', start: 1 },
      ],
      observed: [8.1, 14.9, 22.1, 28.9],
      model: ([gap, count, level]) => x.map((at) => level! + gap! * count! * at),
    });
    expect(result.directions[0]).toMatchObject({ settled: false, relativeError: Infinity });
    expect(result.directions[0]!.name).toMatch(/^\+0\.71 (gap −0\.71 count|count −0\.71 gap)$/);
    expect(result.standardErrors!.slice(0, 2)).toEqual([Infinity, Infinity]);
    expect(result.intervals![0]).toEqual({ low: -Infinity, high: Infinity });
    expect(result.values[0]! * result.values[1]!).toBeCloseTo(6.96, 8);
    expect(result.standardErrors![2]).toBeLessThan(1);
    expect(result.degrees).toBe(2);
  });
  test('a parameter of no effect keeps its start, is named, and leaves the others alone', () => {
    const result = found({
      ...saturating(),
      parameters: [...saturating().parameters, { name: 'idle', start: 7 }],
    });
    expect(result.values[2]).toBe(7);
    expect(result.standardErrors![2]).toBe(Infinity);
    expect(result.directions[0]!.name).toBe('+1.00 idle');
    expect(result.standardErrors![0]).toBeCloseTo(found(saturating()).standardErrors![0]!, 9);
  });
  test('without any scatter an unsettled parameter still has an infinite error', () => {
    const result = found({
      parameters: [
        { name: 'a', start: 1 },
        { name: 'idle', start: 7 },
      ],
      observed: [2, 4, 8],
      model: ([a]) => [a!, 2 * a!, 4 * a!],
    });
    expect(result.stop).toBe('exact');
    expect(result.standardErrors![1]).toBe(Infinity);
    expect(result.standardErrors![0]).toBeLessThan(1e-12);
    expect(result.intervals![1]).toEqual({ low: -Infinity, high: Infinity });
  });
  test('more parameters than observations: no scatter, no intervals, and the rest is said', () => {
    const result = found({
      parameters: [
        { name: 'a', start: 1 },
        { name: 'b', start: 1 },
      ],
      observed: [3],
      model: ([a, b]) => [a! + b!],
    });
    expect(result.degrees).toBe(0);
    expect(result.deviation).toBeUndefined();
    expect(result.intervals).toBeUndefined();
    expect(result.directions.map((d) => d.settled)).toEqual([false, false]);
  });
  test('weakly told parameters have a relative error above one', () => {
    // Sizes far above b: only a is told.
    const result = found({
      ...saturating(),
      observed: [0.99, 1.02, 0.98, 1.01, 0.99],
      model: ([a, b]) => [200, 400, 600, 800, 1000].map((x) => (a! * x) / (x + b!)),
    });
    expect(result.directions[0]!.parts[0]!.name).toBe('b');
    expect(result.directions[0]!.settled).toBe(false);
    expect(result.directions[1]!.settled).toBe(true);
  });
});

describe('how a fit ends', () => {
  const stop = (problem: LeastSquaresProblem, options?: Parameters<typeof leastSquares>[1]) =>
    leastSquares(problem, options).stop;
  test('an exact model ends as exact', () => {
    const exact = found({ ...saturating(), observed: rate([2, 4]) });
    expect(squares(exact.residuals)).toBeLessThan(1e-28);
    expect(exact.values[0]).toBeCloseTo(2, 12);
  });
  test('too few steps are no fit, and the lowest point says where it stood', () => {
    const result = leastSquares(
      saturating({
        parameters: [
          { name: 'a', start: 900 },
          { name: 'b', start: 5000 },
        ],
      }),
      {
        mostSteps: 1,
      },
    );
    expect(result).toMatchObject({ found: false, stop: 'steps' });
    if (!result.found) expect(result.lowest.cost).toBeLessThan(Infinity);
  });
  test('a model of no number is no fit', () => {
    expect(stop(saturating({ model: () => sizes.map(() => Number.NaN) }))).toBe('model');
  });
  test('a model that ignores its parameters is no fit', () => {
    expect(stop(saturating({ model: () => sizes.map(() => 1) }))).toBe('no-effect');
  });
  test('slopes that are wrong leave the fit stuck, and it says so', () => {
    const wrong = saturating({ slopes: ([a, b]) => sizes.map((x) => [-x / (x + b!), a! * x]) });
    expect(stop(wrong)).toBe('stuck');
  });
  test('given slopes lead to the same minimum as differences', () => {
    const given = found(
      saturating({
        slopes: ([a, b]) => sizes.map((x) => [x / (x + b!), (-a! * x) / (x + b!) ** 2]),
      }),
    );
    const own = found(saturating());
    given.values.forEach((value, j) => {
      expect(value).toBeCloseTo(own.values[j]!, 10);
      expect(given.standardErrors![j]).toBeCloseTo(own.standardErrors![j]!, 9);
    });
  });
  test('a staircase is fitted over the step that its parameter states', () => {
    const stairs = ([a, b]: readonly number[]) =>
      sizes.map((x) => Math.round(a! * x) + Math.round(b! * 100) / 10);
    const problem = (step?: number): LeastSquaresProblem => ({
      parameters: [
        { name: 'a', start: 40, ...(step ? { step: 2 * step } : {}) },
        { name: 'b', start: 1, ...(step ? { step } : {}) },
      ],
      observed: stairs([57, 3]),
      model: stairs,
    });
    expect(stop(problem())).toBe('no-effect');
    const result = leastSquares(problem(0.5), {});
    const values = result.found ? result.values : result.lowest.values;
    expect(values[0]).toBeCloseTo(57, 1);
  });
  test('refuses what no fit could make sense of, naming the field', () => {
    const bad = (over: Partial<LeastSquaresProblem>) => () => leastSquares(saturating(over));
    expect(bad({ parameters: [] })).toThrow(/at least one parameter/);
    expect(bad({ parameters: [{ name: 'a', start: Number.NaN }] })).toThrow(/a: start/);
    expect(bad({ parameters: [{ name: 'a', start: 1, low: 2, high: 2 }] })).toThrow(/a: low/);
    expect(bad({ observed: [] })).toThrow(/at least one observation/);
    expect(bad({ observed: [1] })).toThrow(/6 values for 1 observations/);
    expect(bad({ weights: [1] })).toThrow(/weight for each/);
    expect(bad({ weights: [1, 1, 1, 1, 1, -1] })).toThrow(/not below zero/);
    expect(() => leastSquares(saturating(), { confidence: 1 })).toThrow(/confidence/);
    expect(() => leastSquares(saturating(), { starts: [[1]] })).toThrow(/a start needs 2/);
  });
});

describe('several starts', () => {
  const t = Array.from({ length: 40 }, (_, i) => i / 4);
  const wave = ([f]: readonly number[]) => t.map((at) => Math.sin(f! * at));
  const problem: LeastSquaresProblem = {
    parameters: [{ name: 'f', start: 0.3, low: 0.1, high: 6 }],
    observed: wave([3.1]).map((y, i) => y + 0.01 * ((i % 3) - 1)),
    model: wave,
  };
  test('one start may end in a side minimum; sixteen find the lowest and count who agreed', () => {
    const one = found(problem);
    const many = found(problem, { starts: 16 });
    expect(one.values[0]).not.toBeCloseTo(3.1, 1);
    expect(many.values[0]).toBeCloseTo(3.1, 2);
    expect(many.starts).toHaveLength(17);
    expect(many.agreeing).toBeGreaterThanOrEqual(1);
    expect(many.agreeing).toBeLessThan(17);
  });
  test('starts are spread inside the bounds, geometrically where asked', () => {
    const result = leastSquares(
      {
        ...problem,
        parameters: [{ name: 'f', start: 1, low: 0.01, high: 100, spread: 'geometric' }],
      },
      { starts: 64 },
    );
    const starts = result.starts.slice(1).map((s) => s.start[0]!);
    expect(Math.min(...starts)).toBeGreaterThanOrEqual(0.01);
    expect(Math.max(...starts)).toBeLessThanOrEqual(100);
    expect(starts.filter((s) => s < 1).length).toBeGreaterThan(24);
    expect(starts.filter((s) => s < 1).length).toBeLessThan(40);
  });
  test('the same problem gives the same bits', () => {
    const again = () => JSON.stringify(leastSquares(problem, { starts: 5 }));
    expect(again()).toBe(again());
  });
});

test('another unit of a parameter and of the observations changes only the unit', () => {
  const random = normals(5);
  const observed = rate([1, 2]).map((y) => y + 0.02 * random());
  const plain = found(saturating({ observed }));
  fc.assert(
    fc.property(fc.integer({ min: -9, max: 9 }), fc.integer({ min: -9, max: 9 }), (i, k) => {
      const [unit, scale] = [10 ** i, 10 ** k];
      const other = found({
        parameters: [
          { name: 'a', start: scale },
          { name: 'b', start: unit },
        ],
        observed: observed.map((y) => y * scale),
        model: ([a, b]) => rate([a! / scale, b! / unit]).map((y) => y * scale),
      });
      expect(other.values[0]! / scale / plain.values[0]!).toBeCloseTo(1, 8);
      expect(other.values[1]! / unit / plain.values[1]!).toBeCloseTo(1, 8);
      expect(other.standardErrors![1]! / unit / plain.standardErrors![1]!).toBeCloseTo(1, 7);
    }),
  );
});
