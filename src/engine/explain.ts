/**
 * Which single unknown would explain a rate below the expected one, and what value it would have. Each
 * candidate is tried alone, everything else as expected; the value is found by halving, since its
 * effect has one direction.
 */
import { formatTime, mul, rational, toNumber } from '../quantity/index.ts';
import { evaluate } from '../system/evaluate.ts';
import type { Network } from '../system/network.ts';
import { bytesPerSecond } from '../system/rate.ts';

const candidates = [
  { id: 'gap_per_packet', words: 'after each packet' },
  { id: 'setup_per_transfer', words: 'for each transfer' },
  { id: 'read_latency', words: 'for each read' },
] as const;

/** Most ticks looked at: a second of the finest tick is far beyond any pause. */
const most = 2 ** 40;

export interface Explanation {
  readonly name: string;
  readonly text: string;
}

/** @param measured bytes per second, below the expected rate of stream `s` */
export function explanations(network: Network, s: number, measured: number): Explanation[] {
  const { parameters } = network;
  return candidates.flatMap(({ id, words }) => {
    const index = parameters.entries.findIndex((e) => e.id.endsWith(`.${id}`));
    if (index < 0) return [];
    const rateAt = (ticks: number) => {
      const corner = parameters.expected();
      corner[index] = ticks;
      return toNumber(bytesPerSecond(evaluate(network, corner))[s]!);
    };
    const ticks = firstBelow(rateAt, measured);
    // An unknown that hardly moves the rate explains nothing.
    if (ticks === undefined || rateAt(0) <= measured) return [];
    const seconds = toNumber(mul(network.hops[0]!.tick, rational(ticks)));
    const { title } = parameters.entries[index]!;
    return [{ name: title, text: `${formatTime(seconds)} ${words}` }];
  });
}

/** The fewest ticks at which a falling rate is no more than `target`; undefined where it never is. */
function firstBelow(rateAt: (ticks: number) => number, target: number): number | undefined {
  let high = 1;
  while (rateAt(high) > target) {
    high *= 2;
    if (high > most) return undefined;
  }
  let low = Math.floor(high / 2);
  while (low + 1 < high) {
    const middle = Math.floor((low + high) / 2);
    if (rateAt(middle) > target) low = middle;
    else high = middle;
  }
  return high;
}
