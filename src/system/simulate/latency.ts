/** Times of reads drawn at random: inverse transform over percentile points, in integers throughout. */
import type { RandomStream } from '../../kernel/index.ts';
import { mul, rational, roundHalfEven } from '../../quantity/index.ts';
import type { LatencyDraw } from '../latency.ts';

/** A drawn number is a multiple of one in this many. */
const grains = 2n ** 53n;

/** From a whole number below 2^53, each as likely, to whole ticks. */
export type Inverse = (drawn: number) => number;

/**
 * The inverse distribution of percentile points: straight lines between them, rounded to the nearest
 * tick. Exact: the drawn number and the shares are integers in 2^53, and no float is multiplied.
 */
export function inverseOf({ points }: Extract<LatencyDraw, { kind: 'points' }>): Inverse {
  const at = points.map(({ share, ticks }) => ({
    grain: roundHalfEven(mul(share, rational(grains))),
    ticks: BigInt(ticks),
  }));
  const bounds = at.slice(1).map(({ grain }) => Number(grain));
  return (drawn) => {
    const k = bounds.findIndex((bound) => drawn < bound);
    const [from, to] = [at[k]!, at[k + 1]!];
    const rise = to.ticks - from.ticks;
    if (rise === 0n) return Number(from.ticks);
    // Middle of the grain drawn, rounded to the nearest tick: numerator and denominator doubled twice.
    const width = 2n * (to.grain - from.grain);
    const part = 2n * (BigInt(drawn) - from.grain) + 1n;
    return Number(from.ticks + (2n * rise * part + width) / (2n * width));
  };
}

/** Draws the time of one read after another, whole ticks. */
export function latencySource(draw: LatencyDraw, random: RandomStream): () => number {
  if (draw.kind === 'exponential') return () => draw.least + random.exponential(draw.mean);
  const inverse = inverseOf(draw);
  return () => inverse(random.uniform() * Number(grains));
}
