import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fill } from '../../src/numeric/filling.ts';

const whole = { n: 1n, d: 1n };
const value = ({ n, d }: { n: bigint; d: bigint }) => Number(n) / Number(d);

describe('weighted progressive filling', () => {
  it('gives the max-min fair share of a textbook example', () => {
    // Keshav, An Engineering Approach to Computer Networking (1997), §9.2: capacity 10, demands
    // 2, 2.6, 4 and 5 share as 2, 2.6, 2.7, 2.7 (from memory). Demands are private resources here.
    const one = (index: number, ticks: bigint) =>
      [0n, 1n, 2n, 3n].map((_, i) => (i === index ? ticks : 0n));
    const rates = fill(
      [1n, 1n, 1n, 1n],
      [
        { capacity: { n: 10n, d: 1n }, use: [1n, 1n, 1n, 1n] },
        { capacity: { n: 2n, d: 1n }, use: one(0, 1n) },
        { capacity: { n: 26n, d: 10n }, use: one(1, 1n) },
        { capacity: { n: 4n, d: 1n }, use: one(2, 1n) },
        { capacity: { n: 5n, d: 1n }, use: one(3, 1n) },
      ],
    );
    expect(rates.map((r) => value(r.rate))).toEqual([2, 2.6, 2.7, 2.7]);
    expect(rates.map((r) => r.stoppedBy)).toEqual([1, 2, 0, 0]);
  });

  it('shares a full resource in proportion to the weights', () => {
    const rates = fill([3n, 1n], [{ capacity: whole, use: [5n, 5n] }]);
    expect(rates.map((r) => r.rate)).toEqual([
      { n: 3n, d: 20n },
      { n: 1n, d: 20n },
    ]);
  });

  it('refuses a flow that nothing bounds', () => {
    expect(() => fill([1n], [{ capacity: whole, use: [0n] }])).toThrow(RangeError);
  });

  it('never overfills a resource, and stops every flow at a full one (max-min condition)', () => {
    const flows = fc.integer({ min: 1, max: 5 });
    const problem = flows.chain((n) =>
      fc.record({
        weights: fc.array(fc.bigInt(1n, 1000n), { minLength: n, maxLength: n }),
        resources: fc.array(
          fc.record({
            capacity: fc.record({ n: fc.bigInt(1n, 100n), d: fc.bigInt(1n, 100n) }),
            use: fc.array(fc.bigInt(0n, 10_000n), { minLength: n, maxLength: n }),
          }),
          { minLength: 1, maxLength: 6 },
        ),
      }),
    );
    fc.assert(
      fc.property(problem, ({ weights, resources }) => {
        const bounded = {
          capacity: whole,
          use: weights.map(() => 1n),
        };
        const all = [...resources, bounded];
        const rates = fill(weights, all);
        const full = all.map(({ capacity, use }) => {
          let n = 0n;
          let d = 1n;
          rates.forEach(({ rate }, f) => {
            n = n * rate.d + rate.n * use[f]! * d;
            d *= rate.d;
          });
          expect(n * capacity.d <= capacity.n * d).toBe(true);
          return n * capacity.d === capacity.n * d;
        });
        rates.forEach(({ stoppedBy, rate }, f) => {
          expect(full[stoppedBy]).toBe(true);
          // No flow on the resource that stopped this one grew further, weight for weight.
          rates.forEach((other, g) => {
            if (all[stoppedBy]!.use[g] === 0n) return;
            const mine = rate.n * weights[g]! * other.rate.d;
            const theirs = other.rate.n * weights[f]! * rate.d;
            expect(theirs <= mine).toBe(true);
          });
        });
      }),
      { numRuns: 500 },
    );
  });
});
