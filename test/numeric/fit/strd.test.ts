/**
 * The 27 non-linear problems of NIST StRD from both published starts. The digits each reaches are
 * stated in docs/numeric.md, and read from there: log relative error, −log10 |value/certified − 1|.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { leastSquares } from '../../../src/numeric/fit/index.ts';
import { average, higher, lower, type ReferenceSet } from './strd/sets.ts';

const document = readFileSync(new URL('../../../docs/numeric.md', import.meta.url), 'utf8');

/** Digits stated: parameters and their standard deviations from start 1 and 2, squares. */
function stated(name: string): number[] {
  const row = document.split('\n').find((line) => line.startsWith(`| ${name} |`));
  if (!row) throw new Error(`docs/numeric.md has no row for ${name}`);
  return row.split('|').slice(4, -1).map(Number);
}

/** Certified values have 11 digits; more than 10 cannot be told. */
function digits(value: number, certified: number): number {
  return Math.min(10, -Math.log10(Math.abs(value / certified - 1)));
}

const worst = (values: readonly number[], certified: readonly number[]) =>
  Math.min(...values.map((value, j) => digits(value, certified[j]!)));

function solve(set: ReferenceSet, start: readonly number[]) {
  const result = leastSquares(
    {
      parameters: start.map((value, j) => ({ name: `b${j + 1}`, start: value })),
      observed: set.y,
      model: (b) => set.x.map((x) => set.f(x, b)),
    },
    { mostSteps: 1000 },
  );
  if (!result.found) throw new Error(`${set.name}: ${result.message}`);
  return result;
}

const sets = [...lower, ...average, ...higher];

test('all 27 sets are there, with as many observations as published', () => {
  expect(sets.map((s) => [s.name, s.y.length])).toEqual([
    ['Misra1a', 14],
    ['Chwirut2', 54],
    ['Chwirut1', 214],
    ['Lanczos3', 24],
    ['Gauss1', 250],
    ['Gauss2', 250],
    ['DanWood', 6],
    ['Misra1b', 14],
    ['Kirby2', 151],
    ['Hahn1', 236],
    ['Nelson', 128],
    ['MGH17', 33],
    ['Lanczos1', 24],
    ['Lanczos2', 24],
    ['Gauss3', 250],
    ['Misra1c', 14],
    ['Misra1d', 14],
    ['Roszman1', 25],
    ['ENSO', 168],
    ['MGH09', 11],
    ['Thurber', 37],
    ['BoxBOD', 6],
    ['Rat42', 9],
    ['MGH10', 16],
    ['Eckerle4', 35],
    ['Rat43', 15],
    ['Bennett5', 154],
  ]);
});

describe.each(sets)('$name', (set) => {
  const [first, second, deviation1, deviation2, squares] = stated(set.name);
  test.each([
    [1, first!, deviation1!],
    [2, second!, deviation2!],
  ])('from start %i: %i digits of the parameters, %i of their deviations', (at, b, deviations) => {
    const result = solve(set, set.starts[at - 1]!);
    expect(worst(result.values, set.certified)).toBeGreaterThanOrEqual(b);
    expect(worst(result.standardErrors!, set.deviations)).toBeGreaterThanOrEqual(deviations);
    expect(digits(result.cost, set.squares)).toBeGreaterThanOrEqual(squares!);
    expect(digits(result.deviation!, set.residualDeviation)).toBeGreaterThanOrEqual(squares!);
    expect(result.degrees).toBe(set.y.length - set.certified.length);
  });
  test('states at least eight digits, but where the residuals themselves are rounding', () => {
    expect(Math.min(first!, second!)).toBeGreaterThanOrEqual(8);
    if (set.name !== 'Lanczos1') {
      expect(Math.min(deviation1!, deviation2!)).toBeGreaterThanOrEqual(7);
      expect(squares!).toBeGreaterThanOrEqual(9);
    }
  });
});
