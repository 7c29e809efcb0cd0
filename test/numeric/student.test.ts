import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { meanInterval } from '../../src/numeric/intervals.ts';
import { incompleteBeta, studentQuantile, studentTwoSided } from '../../src/numeric/student.ts';

/**
 * NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2 "Critical Values of the Student's-t
 * Distribution": t exceeded with the chance of the column. Its column for 0.001 is left out, whose
 * last digit is off in several rows.
 */
const chances = [0.1, 0.05, 0.025, 0.01, 0.005];
const handbook: Readonly<Record<number, readonly number[]>> = {
  1: [3.078, 6.314, 12.706, 31.821, 63.657],
  2: [1.886, 2.92, 4.303, 6.965, 9.925],
  3: [1.638, 2.353, 3.182, 4.541, 5.841],
  4: [1.533, 2.132, 2.776, 3.747, 4.604],
  5: [1.476, 2.015, 2.571, 3.365, 4.032],
  9: [1.383, 1.833, 2.262, 2.821, 3.25],
  10: [1.372, 1.812, 2.228, 2.764, 3.169],
  19: [1.328, 1.729, 2.093, 2.539, 2.861],
  29: [1.311, 1.699, 2.045, 2.462, 2.756],
  60: [1.296, 1.671, 2.0, 2.39, 2.66],
  100: [1.29, 1.66, 1.984, 2.364, 2.626],
  // The table's last row is the normal distribution, reached to its three places by then.
  100000: [1.282, 1.645, 1.96, 2.326, 2.576],
};

/** scipy 1.17.1, `stats.t.ppf((1 + confidence) / 2, degrees)`. */
const reference: readonly (readonly [confidence: number, degrees: number, t: number])[] = [
  [0.9, 1, 6.313751514675037],
  [0.9, 9, 1.833112932656237],
  [0.9, 99, 1.6603911560169906],
  [0.998, 7, 4.785289628638333],
  [0.999999, 5, 28.478473462183874],
  [0.1, 12, 0.1283473807956115],
  [0.9, 9999, 1.6450060333112988],
];

describe("Student's t", () => {
  test.each(Object.entries(handbook))(
    '%s degrees of freedom as in the handbook',
    (degrees, row) => {
      for (const [i, chance] of chances.entries()) {
        const t = studentQuantile(1 - 2 * chance, Number(degrees));
        expect(Math.abs(t - row[i]!)).toBeLessThanOrEqual(0.0005001);
      }
    },
  );

  test.each(reference)('confidence %d, %d degrees of freedom as scipy has it', (c, degrees, t) => {
    expect(Math.abs(studentQuantile(c, degrees) / t - 1)).toBeLessThan(1e-10);
  });

  test('the quantile undoes the tail', () => {
    const confidence = fc.double({ min: 0.01, max: 0.9999, noNaN: true });
    fc.assert(
      fc.property(confidence, fc.integer({ min: 1, max: 2000 }), (c, degrees) => {
        const outside = studentTwoSided(studentQuantile(c, degrees), degrees);
        expect(Math.abs(outside - (1 - c))).toBeLessThan(1e-10);
      }),
    );
  });

  test.each([0, 1, -0.5, Number.NaN])('refuses a confidence of %d', (confidence) => {
    expect(() => studentQuantile(confidence, 5)).toThrow(/confidence must be between 0 and 1/);
  });
});

describe('incomplete beta function', () => {
  const unit = fc.double({ min: 0, max: 1, noNaN: true });
  const small = fc.integer({ min: 1, max: 60 }).map((n) => n / 2);
  const near = (a: number, b: number) => expect(Math.abs(a - b)).toBeLessThan(1e-12);

  test('closed forms: DLMF 8.17.5 for whole parameters, the arc tangent for two halves', () => {
    fc.assert(
      fc.property(unit, small, (x, a) => {
        near(incompleteBeta(x, a, 1), x ** a);
        near(incompleteBeta(x, 1, a), 1 - (1 - x) ** a);
        near(
          incompleteBeta(x, 0.5, 0.5),
          (2 / Math.PI) * Math.atan2(Math.sqrt(x), Math.sqrt(1 - x)),
        );
      }),
    );
    fc.assert(
      fc.property(
        unit,
        fc.integer({ min: 1, max: 12 }),
        fc.integer({ min: 1, max: 12 }),
        (x, m, n) => {
          let sum = 0;
          let choose = 1;
          for (let j = 0; j <= m + n - 1; j++) {
            if (j >= m) sum += choose * x ** j * (1 - x) ** (m + n - 1 - j);
            choose = (choose * (m + n - 1 - j)) / (j + 1);
          }
          near(incompleteBeta(x, m, n), sum);
        },
      ),
    );
  });

  test('reflection (DLMF 8.17.4) and recurrence (DLMF 8.17.13)', () => {
    fc.assert(
      fc.property(unit, small, small, (x, a, b) => {
        near(incompleteBeta(x, a, b), 1 - incompleteBeta(1 - x, b, a));
        // (a + b) I_x(a, b) = a I_x(a + 1, b) + b I_x(a, b + 1).
        const mixed = a * incompleteBeta(x, a + 1, b) + b * incompleteBeta(x, a, b + 1);
        near(mixed / (a + b), incompleteBeta(x, a, b));
      }),
    );
  });

  test.each([
    [0.5, 0.3, 1],
    [0.5, 0, 1],
    [0.5, 51, 51],
    [1.5, 1, 1],
    [Number.NaN, 1, 1],
  ])('refuses I_%d(%d, %d)', (x, a, b) => {
    expect(() => incompleteBeta(x, a, b)).toThrow(RangeError);
  });
});

describe('interval of a mean', () => {
  // Mean 5, squares sum to 20, so s² = 20/3; t of 90 % and 3 degrees is 2.353 (handbook, above).
  test('four numbers worked by hand', () => {
    const { mean, low, high } = meanInterval([2, 4, 6, 8]);
    expect(mean).toBe(5);
    expect(high - 5).toBeCloseTo(2.353 * Math.sqrt(20 / 3 / 4), 3);
    expect(5 - low).toBeCloseTo(high - 5, 12);
  });

  test('shrinks to the value itself when nothing varies', () => {
    expect(meanInterval([7, 7, 7])).toEqual({ mean: 7, low: 7, high: 7 });
  });

  test('refuses one value, and values that are not finite', () => {
    expect(() => meanInterval([1])).toThrow(/at least two/);
    expect(() => meanInterval([1, Infinity])).toThrow(/finite/);
  });
});
