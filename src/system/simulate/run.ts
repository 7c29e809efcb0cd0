import { hashState, StateWriter } from '../../kernel/index.ts';
import type { Arbitration, ReplayCounts } from '../../links/events.ts';
import type { HopLedger } from '../../model/answer.ts';
import { type Rational, rational } from '../../quantity/index.ts';
import { evaluate } from '../evaluate.ts';
import { ledgersOf } from '../ledgers.ts';
import type { Network } from '../network.ts';
import type { Corner } from '../parameters.ts';
import { type Edge, edgeOf, ledgerOf } from './measure.ts';
import { PeriodSearch, relativeState } from './period.ts';
import { type ReadDelays, readDelaysOf } from './read-delays.ts';
import { type Observer, runObserved } from './series.ts';
import {
  intervalOf,
  packetsSearched,
  periodicWindow,
  plainWindow,
  planWindow,
  type Window,
} from './window.ts';
import { World } from './world.ts';

export interface SimulationOptions {
  /** Of everything random; a whole number from 0 to 2^53 − 1. */
  readonly seed: number;
  /** Parameters; the expected ones when absent. */
  readonly corner?: Corner;
  /** System ticks; rounded up to whole intervals of clock compensation. */
  readonly window?: number;
  /** System ticks before the window. */
  readonly warmUp?: number;
  /**
   * Whether to skip whole periods once the state has been proved to recur; not by itself, and never
   * where anything is random.
   */
  readonly skip?: boolean;
  /** Among streams that are ready at once: in proportion to their needs when absent. */
  readonly arbitration?: Arbitration;
  /** Times that reads take: as stated when absent, the same each where nothing is. */
  readonly readDelay?: ReadDelays;
  /** Looks on during the window, of which then no period is left out. */
  readonly observer?: Observer;
}

/** What became of one stream in the window. */
export interface StreamResult {
  readonly name: string;
  /** Payload bytes that arrived whole. */
  readonly bytes: number;
  /** Bytes per second, exact. */
  readonly rate: Rational;
  /** From when a packet or request was ready to when all of it had arrived; system ticks. */
  readonly latency: {
    readonly count: number;
    readonly p50: number;
    readonly p99: number;
    readonly p999: number;
    readonly most: number;
  };
}

/** High-water marks of one direction of a hop, in the window. */
export interface WirePeaks {
  readonly hop: string;
  readonly direction: 'up' | 'down';
  /** Packets sent and not yet acknowledged: what the replay buffer holds. */
  readonly unacknowledged: number;
  /** Credits out at once, by type and channel: what the receiver's buffers hold or has not returned. */
  readonly credits: readonly {
    readonly credit: 'posted' | 'nonposted' | 'completion';
    readonly channel: number;
    readonly headers: number;
    readonly units: number;
  }[];
}

/** What bit errors did to packets of one direction of a hop, in the window. */
export interface WireReplays extends ReplayCounts {
  readonly hop: string;
  readonly direction: 'up' | 'down';
}

export interface SimulationResult {
  readonly seed: number;
  readonly settings: {
    readonly arbitration: Arbitration;
    readonly readDelay: ReadDelays;
  };
  readonly window: Window;
  /** Seconds a system tick. */
  readonly tick: Rational;
  readonly streams: readonly StreamResult[];
  readonly links: readonly HopLedger[];
  readonly peaks: readonly WirePeaks[];
  /** Directions that bit errors can hit, or that have a stated replay buffer. */
  readonly replays: readonly WireReplays[];
  /** Most packets that waited in a queue of a switch, in order of hops; since the start. */
  readonly queues: readonly { readonly from: string; readonly to: string; readonly most: number }[];
  /** Events dispatched, skipped periods not counted. */
  readonly dispatched: number;
  /** System ticks after which the whole state recurs, where it was asked for and found. */
  readonly period?: { readonly ticks: number; readonly skipped: number };
  /** Fingerprint of the state at the end and of what was counted: 16 hexadecimal digits. */
  readonly stateHash: string;
}

/**
 * Simulates a network packet by packet. The result hangs on the network, the options and nothing else.
 * @throws RangeError for a network that cannot run: a packet larger than its receiver's credits, a
 *   window beyond 2^53 ticks, a transfer of more packets than a program holds
 */
export function simulateNetwork(network: Network, options: SimulationOptions): SimulationResult {
  const { seed, corner = network.parameters.expected() } = options;
  const { arbitration = 'weighted' } = options;
  const readDelay = readDelaysOf(network, corner, options.readDelay);
  const world = new World(network, { seed, corner, arbitration, readDelay });
  const evaluation = evaluate(network, corner);
  const plan = planWindow(world, evaluation, ledgersOf(evaluation), options);
  const run = new Run(world);
  if (options.skip === true && !world.random)
    run.search(plan.warmUp, plan.packets(packetsSearched));
  else world.kernel.runUntil(plan.warmUp);
  const { period } = run;
  const { now } = world.kernel;
  const window =
    period === undefined
      ? plainWindow({ ...plan, warmUp: now })
      : periodicWindow(plan, now, period);
  world.state.resetPeaks();
  const from = edgeOf(world);
  if (options.observer) runObserved(world, window.ticks, options.observer);
  else run.on(window.ticks);
  const to = edgeOf(world);
  return {
    seed,
    settings: { arbitration, readDelay },
    window,
    tick: network.tick,
    streams: network.streams.map((_, s) => streamResult(world, s, from, to)),
    links: world.transmitters.map((_, index) => ledgerOf(world, index, from, to)),
    peaks: world.transmitters.map((transmitter, index) => ({
      hop: network.hops[index >> 1]!.name,
      direction: index % 2 === 0 ? 'up' : 'down',
      ...transmitter.peaks(),
    })),
    replays: replaysOf(world, from, to),
    queues: world.queues.map(({ from: into, to: onto, ring }) => ({
      from: network.hops[into.index >> 1]!.name,
      to: network.hops[onto.index >> 1]!.name,
      most: ring.most,
    })),
    dispatched: world.kernel.dispatched,
    ...(period === undefined ? {} : { period: { ticks: period, skipped: run.skipped } }),
    stateHash: hashOf(world, from, to),
  };
}

/** Most times that the state is looked at for a period. */
const looksMost = 20_000;

/** Runs a world, and leaves out whole periods once it is proved that the state recurs. */
class Run {
  readonly #world: World;
  /** System ticks, once known. */
  period: number | undefined;
  /** Whole periods left out. */
  skipped = 0;

  constructor(world: World) {
    this.#world = world;
  }

  /** Runs for at least `least` ticks, and up to `most` until a period is found. */
  search(least: number, most: number): void {
    const { kernel } = this.#world;
    const search = new PeriodSearch(this.#world);
    const interval = intervalOf(this.#world);
    for (let looks = 0; looks < looksMost && kernel.now < most; looks++) {
      if (this.period !== undefined) break;
      kernel.runUntil(kernel.now + interval);
      this.period = search.look();
    }
    if (kernel.now < least) kernel.runUntil(least);
  }

  /** Runs on for so many ticks: one period in full, the others that fit counted like it. */
  on(ticks: number): void {
    const { kernel } = this.#world;
    const end = kernel.now + ticks;
    if (this.period !== undefined) this.#leaveOut(this.period, end);
    kernel.runUntil(end);
  }

  #leaveOut(period: number, end: number): void {
    const { kernel, state, transmitters } = this.#world;
    const times = Math.floor((end - kernel.now) / period) - 1;
    if (times < 1) return;
    const settle = () => {
      for (const transmitter of transmitters) transmitter.settle();
    };
    settle();
    const before = state.counted();
    kernel.runUntil(kernel.now + period);
    settle();
    state.countAgain(before, state.counted(), times);
    kernel.skip(times * period);
    this.skipped = times;
  }
}

function replaysOf(world: World, from: Edge, to: Edge): WireReplays[] {
  const counted = to.counted.since(from.counted);
  return world.transmitters.flatMap((transmitter, index) => {
    const counts = transmitter.replays(counted);
    if (!counts) return [];
    const hop = world.network.hops[index >> 1]!.name;
    return [{ hop, direction: index % 2 === 0 ? 'up' : 'down', ...counts } as const];
  });
}

function streamResult(world: World, s: number, from: Edge, to: Edge): StreamResult {
  const counted = to.counted.since(from.counted);
  const bytes = counted.of(world.delivered)[s]!;
  const { tick } = world.network;
  const latency = world.latencies[s]!;
  return {
    name: world.network.streams[s]!.name,
    bytes,
    rate: rational(BigInt(bytes) * tick.d, BigInt(to.time - from.time) * tick.n),
    latency: {
      count: latency.size(counted),
      p50: latency.percentile(0.5, counted),
      p99: latency.percentile(0.99, counted),
      p999: latency.percentile(0.999, counted),
      most: latency.largest,
    },
  };
}

function hashOf(world: World, from: Edge, to: Edge): string {
  const words = new StateWriter();
  words.numbers(relativeState(world));
  words.numbers(to.counted.since(from.counted).of(world.delivered));
  return hashState(words.done());
}
