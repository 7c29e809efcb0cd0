/** Choice among models, its criterion and its test. */
import { expect, test } from 'vitest';
import { chooseModel, type Fit, leastSquares, type Model } from '../../../src/numeric/fit/index.ts';
import { ln } from '../../../src/numeric/fit/ln.ts';
import { normals } from './random.ts';

const x = Array.from({ length: 12 }, (_, i) => i + 1);

function powers(observed: readonly number[], order: number): Fit {
  const model: Model = (b) => x.map((at) => b.reduceRight((sum, c) => sum * at + c, 0));
  const result = leastSquares({
    parameters: Array.from({ length: order + 1 }, (_, j) => ({ name: `b${j}`, start: 0 })),
    observed,
    model,
  });
  if (!result.found) throw new Error(result.message);
  return result;
}

function choose(observed: readonly number[]) {
  return chooseModel([
    { name: 'level', fit: powers(observed, 0) },
    { name: 'line', fit: powers(observed, 1), contains: ['level'] },
    { name: 'bend', fit: powers(observed, 2), contains: ['level', 'line'] },
  ]);
}

test('AICc and F are those of their formulas', () => {
  const random = normals(1);
  const observed = x.map((at) => 3 + 0.5 * at + random());
  const fits = [powers(observed, 0), powers(observed, 1)];
  const { ranking, tests } = chooseModel([
    { name: 'level', fit: fits[0]! },
    { name: 'line', fit: fits[1]!, contains: ['level'] },
  ]);
  const aicc = (cost: number, k: number) =>
    12 * Math.log(cost / 12) + 2 * k + (2 * k * (k + 1)) / (12 - k - 1);
  expect(ranking[0]).toMatchObject({ name: 'line', parameters: 2, difference: 0 });
  expect(ranking[0]!.aicc).toBeCloseTo(aicc(fits[1]!.cost, 3), 10);
  expect(ranking[1]!.aicc).toBeCloseTo(aicc(fits[0]!.cost, 2), 10);
  expect(tests[0]!.f).toBeCloseTo((fits[0]!.cost - fits[1]!.cost) / (fits[1]!.cost / 10), 8);
});

/** A fit that only has what a choice reads. */
function bare(cost: number, parameters: number, observations: number): Fit {
  return {
    names: Array.from({ length: parameters }, (_, j) => `p${j}`),
    cost,
    degrees: observations - parameters,
    loss: { kind: 'squares' },
    precision: { rank: parameters },
  } as unknown as Fit;
}

test.each([
  // Upper 5 % points of F: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.3.
  [1, 10, 4.965],
  [2, 10, 4.103],
  [3, 20, 3.098],
  [5, 30, 2.534],
])('F(%i, %i) of %f has a chance of 5 %%', (more, left, f) => {
  const [result] = chooseModel([
    { name: 'small', fit: bare(left + f * more, 2, left + more + 2) },
    { name: 'large', fit: bare(left, more + 2, left + more + 2), contains: ['small'] },
  ]).tests;
  expect(result!.f).toBeCloseTo(f, 10);
  expect(result!.p).toBeCloseTo(0.05, 4);
});

test('a model of more parameters is not chosen for what noise gives it', () => {
  let right = 0;
  for (let seed = 1; seed <= 200; seed++) {
    const random = normals(seed);
    if (choose(x.map((at) => 2 + at + 0.5 * random())).chosen === 'line') right++;
  }
  // A difference of 2 alone lets in one needless parameter in 6 as n grows; AICc and parsimony less.
  expect(right).toBeGreaterThan(180);
});

test('a bend that the data show is chosen, and one they only hint at stays undecided', () => {
  const random = normals(9);
  const noise = x.map(() => random());
  const clear = choose(x.map((at, i) => 2 + at + 0.2 * at * at + 0.5 * noise[i]!));
  expect(clear.chosen).toBe('bend');
  expect(clear.alsoSupported).toEqual([]);
  expect(clear.tests.find((t) => t.smaller === 'line')!.p).toBeLessThan(1e-4);
});

test('models within 2 of the least are given beside the chosen one, which is the smaller', () => {
  const result = chooseModel([
    { name: 'small', fit: bare(10, 1, 20) },
    { name: 'large', fit: bare(8.4, 2, 20), contains: ['small'] },
  ]);
  expect(result.ranking[0]!.name).toBe('large');
  expect(result.chosen).toBe('small');
  expect(result.alsoSupported).toEqual(['large']);
});

test('models that leave too few observations cannot be judged', () => {
  const result = chooseModel([{ name: 'all', fit: bare(1, 3, 5) }]);
  expect(result.chosen).toBeUndefined();
  expect(result.ranking).toEqual([{ name: 'all', parameters: 3 }]);
});

test('an exact model wins over any other', () => {
  const result = chooseModel([
    { name: 'exact', fit: bare(0, 2, 20) },
    { name: 'near', fit: bare(1e-9, 1, 20) },
  ]);
  expect(result.chosen).toBe('exact');
});

test('refuses what cannot be compared', () => {
  expect(() => chooseModel([])).toThrow(/at least one/);
  expect(() =>
    chooseModel([
      { name: 'a', fit: bare(1, 1, 9) },
      { name: 'b', fit: bare(1, 1, 8) },
    ]),
  ).toThrow(/same observations/);
  expect(() => chooseModel([{ name: 'a', fit: bare(1, 1, 9), contains: ['z'] }])).toThrow(/no z/);
  const robust = { ...bare(1, 1, 9), loss: { kind: 'huber', scale: 1 } } as Fit;
  expect(() => chooseModel([{ name: 'a', fit: robust }])).toThrow(/robust/);
});

test('ln agrees with the platform to the last bits, and refuses the rest', () => {
  for (let i = -300; i <= 300; i += 7) {
    for (const m of [1, 1.1, 1.41, 1.42, 1.9999, 3, 7.3]) {
      const value = m * 10 ** i;
      const exact = Math.log(value);
      expect(Math.abs(ln(value) - exact)).toBeLessThanOrEqual(
        4e-16 * Math.max(1e-1, Math.abs(exact)),
      );
    }
  }
  expect(ln(1)).toBe(0);
  for (const bad of [0, -1, Infinity, Number.NaN]) expect(() => ln(bad)).toThrow(RangeError);
});
