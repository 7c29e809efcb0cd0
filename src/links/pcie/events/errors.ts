/** Bit errors of a direction, drawn one after another. */
import type { Kernel, RandomStream } from '../../../kernel/index.ts';
import type { Errors } from '../../events.ts';
import { ticksPerBit } from '../charge.ts';
import type { PcieConfig } from '../config.ts';

const exabit = 1e18;
/** The largest mean that one draw takes; longer distances are drawn in a coarser unit. */
const longestMean = 2 ** 45;

/** Mean ticks of packets between two bit errors, at least 1; 0 where there are none. */
export function meanBetweenErrors(config: PcieConfig): number {
  const errors = config.errorsPerExabit ?? 0;
  if (errors === 0) return 0;
  const { n, d } = ticksPerBit(config);
  return Math.max(1, Math.floor((exabit / errors) * (Number(n) / Number(d))));
}

/** Ticks of packets until the next error: exponentially distributed, at least 1. */
export function errorDistance(random: RandomStream, mean: number): number {
  const parts = Math.ceil(mean / longestMean);
  return Math.max(1, random.exponential(mean / parts) * parts);
}

/** Place of the ticks to the next error in the list that is handed over. */
const NEXT = 1;

/** Errors of one direction: whether the next one hits what passes. */
export class BitErrors implements Errors {
  readonly #random: RandomStream;
  readonly #mean: number;
  readonly #left: Float64Array;

  private constructor(random: RandomStream, mean: number, left: Float64Array) {
    this.#random = random;
    this.#mean = mean;
    this.#left = left;
    left[NEXT] = errorDistance(random, mean);
  }

  /** Errors of a link, or undefined where it has none. @param left keeps the ticks to the next one */
  static of(config: PcieConfig, scale: number, kernel: Kernel, left: Float64Array) {
    const mean = meanBetweenErrors(config) * scale;
    return mean > 0 ? new BitErrors(kernel.stream(), mean, left) : undefined;
  }

  /** So many ticks of packets pass; true when an error falls in them. */
  hit(ticks: number): boolean {
    const left = this.#left;
    left[NEXT]! -= ticks;
    if (left[NEXT]! > 0) return false;
    while (left[NEXT]! <= 0) left[NEXT]! += errorDistance(this.#random, this.#mean);
    return true;
  }
}
