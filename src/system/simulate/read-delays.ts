/** How long completers take: one time for all reads, or what is drawn for each. */
import type { Kernel, RandomStream } from '../../kernel/index.ts';
import type { Network, ReadWindow } from '../network.ts';
import type { Corner } from '../parameters.ts';
import { latencySource } from './latency.ts';
import type { ReadDelay } from './nodes.ts';

/**
 * `fixed`: the same time each; `exponential`: distributed so around it; `stated`: as the host's
 * distribution says, and the same time each where none is stated.
 */
export type ReadDelays = 'fixed' | 'exponential' | 'stated';

/** What is asked for, or else `stated` where any stream that reads has a distribution. */
export function readDelaysOf(
  network: Network,
  corner: Corner,
  asked: ReadDelays | undefined,
): ReadDelays {
  if (asked !== undefined && asked !== 'stated') return asked;
  const stated = network.streams.some((stream) => {
    const { kind, descriptors } = stream.flow(corner);
    const asks = kind === 'read' || descriptors !== undefined;
    return asks && stream.reads(corner).spread !== undefined;
  });
  return stated ? 'stated' : 'fixed';
}

/** Makes the delays of the completers of one world. */
export class DelayMaker {
  readonly #kernel: Kernel;
  readonly #kind: ReadDelays;
  /** One stream of random numbers for each host. */
  readonly #hosts = new Map<string, RandomStream>();
  /** Whether delays may be drawn. */
  random: boolean;

  constructor(kernel: Kernel, kind: ReadDelays) {
    this.#kernel = kernel;
    this.#kind = kind;
    this.random = kind === 'exponential';
  }

  /** The delay of one stream's completer. */
  of({ latency, spread }: ReadWindow): ReadDelay {
    const ticks = Number(latency);
    if (this.#kind === 'exponential') {
      const random = this.#kernel.stream();
      return { ticks: 0, draw: () => (ticks > 0 ? random.exponential(ticks) : 0) };
    }
    if (this.#kind === 'fixed' || !spread) return { ticks };
    this.random = true;
    const { host, draw, beside } = spread;
    const random = this.#hosts.get(host) ?? this.#kernel.stream();
    this.#hosts.set(host, random);
    return { ticks: Number(beside), draw: latencySource(draw, random) };
  }
}
