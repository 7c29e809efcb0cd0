/**
 * Times counted in buckets of growing width: each power of two is cut into sixteen, so a percentile read
 * from it is at most a sixteenth above the true one. Memory does not grow with what is counted.
 */
import type { CounterSnapshot, EventState } from '../../links/event-state.ts';

const bits = 4;
const within = 1 << bits;
const buckets = (53 - bits + 1) * within;

export class Histogram {
  readonly #counts: Float64Array;
  readonly #largest: Float64Array;

  constructor(state: EventState) {
    this.#counts = state.counters(buckets);
    this.#largest = state.peaks(1);
  }

  /** Counts a time, a whole number below 2^53. */
  add(ticks: number): void {
    this.#counts[bucketOf(ticks)]!++;
    if (ticks > this.#largest[0]!) this.#largest[0] = ticks;
  }

  /** Largest time counted since the high-water marks were reset. */
  get largest(): number {
    return this.#largest[0]!;
  }

  /** Number of times counted. */
  size(counted: CounterSnapshot): number {
    return counted.of(this.#counts).reduce((sum, count) => sum + count, 0);
  }

  /** The least bucket edge that at least `share` of the times do not exceed; 0 when there are none. */
  percentile(share: number, counted: CounterSnapshot): number {
    const counts = counted.of(this.#counts);
    const need = Math.ceil(this.size(counted) * share);
    let sum = 0;
    for (let b = 0; b < buckets; b++) {
      sum += counts[b]!;
      if (need > 0 && sum >= need) return Math.min(topOf(b), this.largest);
    }
    return 0;
  }
}

/** Sixteen buckets of width one, then sixteen for each power of two. */
function bucketOf(ticks: number): number {
  if (ticks < within) return ticks;
  let shift = 0;
  let rest = ticks;
  while (rest >= 65536 * within) {
    rest = Math.floor(rest / 65536);
    shift += 16;
  }
  while (rest >= 2 * within) {
    rest = Math.floor(rest / 2);
    shift++;
  }
  return within * shift + rest;
}

/** Largest time of a bucket. */
function topOf(bucket: number): number {
  if (bucket < 2 * within) return bucket;
  const shift = Math.floor(bucket / within) - 1;
  return (bucket - within * shift + 1) * 2 ** shift - 1;
}
