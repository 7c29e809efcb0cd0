/**
 * Weighted progressive filling over resource vectors: all flows grow together in proportion to their
 * weights until a resource is full; the flows that use it stop there; the others go on. The result
 * is the weighted max-min fair allocation (Bertsekas and Gallager, Data Networks, 2nd ed., §6.5.2).
 *
 * Everything is exact: uses and capacities are integers, growth is compared by cross-multiplication,
 * so no result hangs on rounding, and ties go to the resource listed first.
 */

import { gcd } from './gcd.ts';

/** A non-negative fraction; not necessarily in lowest terms. */
export interface Fraction {
  readonly n: bigint;
  readonly d: bigint;
}

export interface FillResource {
  /** Part of the time that is available, 0 < capacity <= 1. */
  readonly capacity: Fraction;
  /** Ticks of this resource that one cycle of each flow takes; 0 when the flow does not use it. */
  readonly use: readonly bigint[];
}

export interface FlowRate {
  /** Cycles per tick. */
  readonly rate: Fraction;
  /** Index of the resource that stopped this flow. */
  readonly stoppedBy: number;
}

/**
 * @param weights cycles in proportion to which the flows grow, positive integers
 * @param resources at least one with a non-zero use for every flow
 * @throws RangeError when a flow uses no resource at all: its rate would be unbounded
 */
export function fill(weights: readonly bigint[], resources: readonly FillResource[]): FlowRate[] {
  const rates: (FlowRate | undefined)[] = weights.map(() => undefined);
  const left: Fraction[] = resources.map((r) => r.capacity);
  let active = weights.length;
  while (active > 0) {
    const { index, growth } = tightest(weights, resources, left, rates);
    const full = resources[index]!;
    const stopped: number[] = [];
    for (let f = 0; f < weights.length; f++) {
      if (rates[f] !== undefined || full.use[f] === 0n) continue;
      rates[f] = {
        rate: reduce({ n: growth.n * weights[f]!, d: growth.d }),
        stoppedBy: index,
      };
      stopped.push(f);
    }
    active -= stopped.length;
    if (active > 0) for (const f of stopped) take(left, resources, f, rates[f]!.rate);
  }
  return rates as FlowRate[];
}

/** The resource that the still growing flows fill first, and the growth at which they do. */
function tightest(
  weights: readonly bigint[],
  resources: readonly FillResource[],
  left: readonly Fraction[],
  rates: readonly (FlowRate | undefined)[],
): { index: number; growth: Fraction } {
  let best = -1;
  let growth: Fraction = { n: 0n, d: 1n };
  for (let r = 0; r < resources.length; r++) {
    let use = 0n;
    for (let f = 0; f < weights.length; f++) {
      if (rates[f] === undefined) use += weights[f]! * resources[r]!.use[f]!;
    }
    if (use === 0n) continue;
    const candidate = { n: left[r]!.n, d: left[r]!.d * use };
    if (best < 0 || candidate.n * growth.d < growth.n * candidate.d) {
      best = r;
      growth = candidate;
    }
  }
  if (best < 0) throw new RangeError('a flow uses no resource, so nothing bounds its rate');
  return { index: best, growth };
}

/** Takes what one stopped flow uses from every resource. */
function take(left: Fraction[], resources: readonly FillResource[], flow: number, rate: Fraction) {
  for (let r = 0; r < resources.length; r++) {
    const use = resources[r]!.use[flow]!;
    if (use === 0n) continue;
    const { n, d } = left[r]!;
    left[r] = reduce({ n: n * rate.d - rate.n * use * d, d: d * rate.d });
  }
}

function reduce({ n, d }: Fraction): Fraction {
  if (n === 0n) return { n: 0n, d: 1n };
  const divisor = gcd(n, d);
  return { n: n / divisor, d: d / divisor };
}
