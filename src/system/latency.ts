/**
 * How the times of reads are distributed: as a case or part states it, its mean, and what a simulation
 * draws from. All exact: the mean is a fraction of what is stated, a draw is integer arithmetic.
 */
import {
  add,
  exactQuantity,
  mul,
  type Rational,
  rational,
  roundHalfEven,
  sub,
} from '../quantity/index.ts';
import type { Given, GivenQuantity } from './given.ts';

/** Percentile points that may be stated, with the share of reads that take no longer. */
export const percentileShares = {
  p1: rational(1, 100),
  p5: rational(5, 100),
  p10: rational(10, 100),
  p25: rational(25, 100),
  p50: rational(50, 100),
  p75: rational(75, 100),
  p90: rational(90, 100),
  p95: rational(95, 100),
  p99: rational(99, 100),
  'p99.5': rational(995, 1000),
  'p99.9': rational(999, 1000),
  'p99.95': rational(9995, 10_000),
  'p99.99': rational(9999, 10_000),
  'p99.999': rational(99_999, 100_000),
} as const;
export type Percentile = keyof typeof percentileShares;
export const percentiles = Object.keys(percentileShares) as Percentile[];

export const latencyShapes = ['fixed', 'exponential', 'percentiles'] as const;
export type LatencyShape = (typeof latencyShapes)[number];

/**
 * `fixed`: every read takes the `mean`. `exponential`: no less than `least` (0 when absent), and
 * exponentially distributed above it with the `mean` of all. `percentiles`: `least`, points and `most`,
 * straight lines between them.
 */
export type LatencyDistribution = {
  readonly shape: Given<LatencyShape>;
  readonly least?: GivenQuantity;
  readonly mean?: GivenQuantity;
  readonly most?: GivenQuantity;
} & { readonly [P in Percentile]?: GivenQuantity };

/** What a read takes that is drawn anew for each; system ticks. */
export type LatencyDraw =
  | { readonly kind: 'exponential'; readonly least: number; readonly mean: number }
  | {
      readonly kind: 'points';
      /** Shares of reads from 0 to 1, rising, and the time that each share takes at most. */
      readonly points: readonly { readonly share: Rational; readonly ticks: number }[];
    };

/** The latency that a host's reads have: the distribution where it counts, or one time. */
export interface HostLatency {
  /** One time for the closed form: what is stated, or the mean of the distribution. */
  readonly given: GivenQuantity | undefined;
  readonly distribution: LatencyDistribution | undefined;
}

/** What is stated later counts: a case's read_latency replaces a part's distribution. */
export function hostLatency(
  host:
    | {
        readonly read_latency_distribution?: LatencyDistribution;
        readonly pcie: { readonly read_latency?: GivenQuantity };
      }
    | undefined,
): HostLatency {
  const distribution = host?.read_latency_distribution;
  const stated = host?.pcie.read_latency;
  if (!distribution) return { given: stated, distribution: undefined };
  if (stated?.from === 'case' && distribution.shape.from !== 'case') {
    return { given: stated, distribution: undefined };
  }
  const { shape } = distribution;
  const value = exactQuantity('time', meanLatency(distribution));
  return { given: { ...shape, value }, distribution };
}

interface Point {
  readonly share: Rational;
  readonly time: Rational;
}

/** The points of a distribution by percentiles, least and most included, rising. */
function pointsOf(distribution: LatencyDistribution): Point[] {
  const inner = percentiles.flatMap((p) => {
    const given = distribution[p];
    return given ? [{ share: percentileShares[p], time: given.value.expected }] : [];
  });
  return [
    { share: rational(0), time: distribution.least!.value.expected },
    ...inner,
    { share: rational(1), time: distribution.most!.value.expected },
  ];
}

const half = rational(1, 2);

/**
 * Mean of a distribution, seconds, exact. Between two percentile points the time is uniform, so each
 * pair gives its share times its middle.
 */
export function meanLatency(distribution: LatencyDistribution): Rational {
  if (distribution.shape.value !== 'percentiles') return distribution.mean!.value.expected;
  const points = pointsOf(distribution);
  let sum = rational(0);
  for (let k = 1; k < points.length; k++) {
    const [from, to] = [points[k - 1]!, points[k]!];
    sum = add(sum, mul(mul(sub(to.share, from.share), half), add(from.time, to.time)));
  }
  return sum;
}

/**
 * What a simulation draws from, in whole ticks of `tick` seconds, or undefined where all reads take the
 * same time.
 * @throws RangeError for a time beyond 2^46 ticks
 */
export function latencyDraw(
  distribution: LatencyDistribution,
  tick: Rational,
): LatencyDraw | undefined {
  const whole = ({ n, d }: Rational) => {
    const ticks = roundHalfEven(rational(n * tick.d, d * tick.n));
    if (ticks > most) throw new RangeError('a read takes more than 2^46 ticks');
    return Number(ticks);
  };
  switch (distribution.shape.value) {
    case 'fixed':
      return undefined;
    case 'exponential': {
      const least = distribution.least ? whole(distribution.least.value.expected) : 0;
      const mean = whole(distribution.mean!.value.expected) - least;
      return mean > 0 ? { kind: 'exponential', least, mean } : undefined;
    }
    case 'percentiles': {
      const points = pointsOf(distribution).map(({ share, time }) => ({
        share,
        ticks: whole(time),
      }));
      return points[0]!.ticks === points.at(-1)!.ticks ? undefined : { kind: 'points', points };
    }
  }
}

const most = 2n ** 46n;
