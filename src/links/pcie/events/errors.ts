/** Bit errors of a direction, drawn one after another. */
import type { RandomStream } from '../../../kernel/index.ts';
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
