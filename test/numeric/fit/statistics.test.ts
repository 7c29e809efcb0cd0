/** Whether intervals hold what they claim, robust losses resist, and predictions are honest. */
import { describe, expect, test } from 'vitest';
import {
  errorAfter,
  type Fit,
  type Loss,
  leastSquares,
  predict,
} from '../../../src/numeric/fit/index.ts';
import { normals } from './random.ts';

const sizes = [1, 2, 3, 5, 8, 13, 21, 34, 55, 89];
const curve = (at: readonly number[]) => (values: readonly number[]) =>
  at.map((x) => (values[0]! * x) / (x + values[1]!));
const truth = [10, 6];

function study(observed: readonly number[], loss?: Loss): Fit {
  const result = leastSquares({
    parameters: [
      { name: 'a', start: 5, low: 0 },
      { name: 'b', start: 1, low: 0 },
    ],
    observed,
    model: curve(sizes),
    ...(loss ? { loss } : {}),
  });
  if (!result.found) throw new Error(result.message);
  return result;
}

/** Part of `studies` in which `holds` is true, for a chance of 0.9: three deviations allowed. */
function expectNinety(held: number, studies: number, bias = 0): void {
  const deviation = Math.sqrt((0.9 * 0.1) / studies);
  expect(held / studies).toBeGreaterThan(0.9 - 3 * deviation - bias);
  expect(held / studies).toBeLessThan(0.9 + 3 * deviation + bias);
}

test('90 % intervals of parameters and predictions hold the truth in about 90 % of 1000 studies', () => {
  const random = normals(20_261_125);
  const studies = 1000;
  const held = { a: 0, b: 0, mean: 0, observed: 0 };
  const far = curve([200]);
  const [mean] = far(truth);
  for (let study_ = 0; study_ < studies; study_++) {
    const result = study(curve(sizes)(truth).map((y) => y + 0.2 * random()));
    const [a, b] = result.intervals!;
    const [prediction] = predict(result, far);
    const next = mean! + 0.2 * random();
    if (a!.low <= truth[0]! && truth[0]! <= a!.high) held.a++;
    if (b!.low <= truth[1]! && truth[1]! <= b!.high) held.b++;
    if (prediction!.low <= mean! && mean! <= prediction!.high) held.mean++;
    if (prediction!.observedLow <= next && next <= prediction!.observedHigh) held.observed++;
  }
  for (const count of Object.values(held)) expectNinety(count, studies);
});

test('unequal scatter: intervals hold with the weights, and are too narrow or wide without', () => {
  const random = normals(7);
  const studies = 600;
  const scatter = sizes.map((x) => 0.01 * x);
  let held = 0;
  let widthWith = 0;
  let widthWithout = 0;
  for (let at = 0; at < studies; at++) {
    const observed = curve(sizes)(truth).map((y, i) => y + scatter[i]! * random());
    const problem = {
      parameters: [
        { name: 'a', start: 5 },
        { name: 'b', start: 1 },
      ],
      observed,
      model: curve(sizes),
    };
    const weighted = leastSquares({ ...problem, weights: scatter.map((s) => 1 / (s * s)) });
    const plain = leastSquares(problem);
    if (!weighted.found || !plain.found) throw new Error('no fit');
    const { low, high } = weighted.intervals![1]!;
    if (low <= truth[1]! && truth[1]! <= high) held++;
    widthWith += high - low;
    widthWithout += plain.intervals![1]!.high - plain.intervals![1]!.low;
  }
  expectNinety(held, studies);
  expect(widthWith).toBeLessThan(0.5 * widthWithout);
});

describe.each(['huber', 'soft-l1'] as const)('%s loss', (kind) => {
  const clean = (seed: number) => {
    const random = normals(seed);
    return curve(sizes)(truth).map((y) => y + 0.05 * random());
  };
  test('one gross error moves the fit by less than its errors; squares are carried away', () => {
    const good = clean(3);
    const bad = good.with(6, good[6]! + 30);
    const before = study(good);
    const squares = study(bad);
    const robust = study(bad, { kind });
    const move = (result: Fit, j: number) =>
      Math.abs(result.values[j]! - before.values[j]!) / before.standardErrors![j]!;
    expect(move(squares, 0)).toBeGreaterThan(10);
    expect(move(robust, 0)).toBeLessThan(2);
    expect(move(robust, 1)).toBeLessThan(2);
  });
  test('is at its own minimum: a small move of either parameter costs more', () => {
    const result = study(clean(4).with(2, 9), { kind, scale: 0.1 });
    const cost = (values: readonly number[]) => {
      const at = curve(sizes)(values);
      return clean(4)
        .with(2, 9)
        .reduce((sum, y, i) => {
          const u = Math.abs(y - at[i]!) / 0.1;
          const rho =
            kind === 'huber' ? (u <= 1 ? u * u : 2 * u - 1) : 2 * (Math.sqrt(1 + u * u) - 1);
          return sum + 0.01 * rho;
        }, 0);
    };
    expect(result.cost).toBeCloseTo(cost(result.values), 12);
    for (const j of [0, 1]) {
      for (const part of [0.9999, 1.0001]) {
        const moved = result.values.with(j, result.values[j]! * part);
        expect(cost(moved)).toBeGreaterThan(result.cost);
      }
    }
  });
  test('with a scale far above the residuals it is least squares', () => {
    const wide = study(clean(8), { kind, scale: 1e6 });
    const squares = study(clean(8));
    wide.values.forEach((value, j) => {
      expect(value).toBeCloseTo(squares.values[j]!, 8);
      expect(wide.standardErrors![j]).toBeCloseTo(squares.standardErrors![j]!, 8);
    });
  });
  test('its intervals hold in about 90 % of 400 studies with one reading in ten gross', () => {
    const random = normals(11);
    const studies = 400;
    let held = 0;
    const at = sizes.flatMap((x) => [x, x, x]);
    for (let n = 0; n < studies; n++) {
      const observed = curve(at)(truth).map((y, i) => y + (i % 10 === 4 ? 2 : 0.1) * random());
      const result = leastSquares({
        parameters: [
          { name: 'a', start: 5 },
          { name: 'b', start: 1 },
        ],
        observed,
        model: curve(at),
        loss: { kind },
      });
      if (!result.found) throw new Error(result.message);
      const { low, high } = result.intervals![1]!;
      if (low <= truth[1]! && truth[1]! <= high) held++;
    }
    // First-order errors of a robust fit to 30 readings: 4 % more or less is allowed.
    expectNinety(held, studies, 0.04);
  });
});

describe('the next measurement', () => {
  const random = normals(2);
  const result = study(curve(sizes)(truth).map((y) => y + 0.1 * random()));
  const target = ([a, b]: readonly number[]) => [a! / b!];
  test('one more observation never hurts, and the best place is where refits say', () => {
    const now = predict(result, target)[0]!.standardError;
    const places = [0.5, 2, 6, 20, 200];
    const after = errorAfter(result, target, curve(places));
    for (const error of after) expect(error).toBeLessThan(now);
    // Refit with the point added at its prediction: same scatter but for the degrees of freedom.
    const refits = places.map((x) => {
      const more = leastSquares({
        parameters: [
          { name: 'a', start: 5 },
          { name: 'b', start: 1 },
        ],
        observed: [
          ...curve(sizes)(result.values).map((y, i) => y + result.residuals[i]!),
          curve([x])(result.values)[0]!,
        ],
        model: curve([...sizes, x]),
      });
      if (!more.found) throw new Error(more.message);
      return predict(more, target)[0]!.standardError * Math.sqrt(more.degrees / result.degrees);
    });
    after.forEach((error, i) => {
      expect(error).toBeCloseTo(refits[i]!, 7);
    });
  });
  test('a weight counts as that many observations', () => {
    const [one] = errorAfter(result, target, curve([4, 4]), [1, 4]);
    const [, four] = errorAfter(result, target, curve([4, 4]), [1, 4]);
    expect(four).toBeLessThan(one!);
  });
  test('names the observation that separates what the others cannot', () => {
    const x = [1, 2, 3, 4];
    const blind = leastSquares({
      parameters: [
        { name: 'setup', start: 1 },
        { name: 'gap', start: 1 },
      ],
      observed: x.map((at) => 5 + 0.01 * (at % 2)),
      model: ([setup, gap]) => x.map(() => setup! + gap!),
    });
    if (!blind.found) throw new Error(blind.message);
    const setup = ([s]: readonly number[]) => [s!];
    expect(predict(blind, setup)[0]!.standardError).toBe(Infinity);
    expect(predict(blind, ([s, g]) => [s! + g!])[0]!.standardError).toBeLessThan(0.1);
    const [same, other] = errorAfter(blind, setup, ([s, g]) => [s! + g!, s! + 2 * g!]);
    expect(same).toBe(Infinity);
    expect(other).toBeLessThan(1);
  });
});

test('a fit without degrees of freedom predicts no interval', () => {
  const result = leastSquares({
    parameters: [{ name: 'a', start: 1 }],
    observed: [3],
    model: ([a]) => [a!],
  });
  if (!result.found) throw new Error(result.message);
  expect(() => predict(result, ([a]) => [a!])).toThrow(/degrees of freedom/);
});
