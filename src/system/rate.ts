/**
 * Rates of a network: sustained low, expected and high, the ceiling, the chain of limits, and what
 * widens the result.
 */
import type { Flow } from '../links/fabric.ts';
import type { HopLedger, Limit, LimitStep, RateRange, Widener } from '../model/answer.ts';
import { type Fraction, fill } from '../numeric/filling.ts';
import { type Rational, rational, toNumber } from '../quantity/index.ts';
import { firstDemand } from './cycles.ts';
import { type Evaluation, evaluate, weights } from './evaluate.ts';
import { ledgersOf } from './ledgers.ts';
import type { Network } from './network.ts';
import type { Corner } from './parameters.ts';
import type { ResourceInfo } from './resources.ts';
import { scanned } from './scan.ts';

/** Sustained rates of one stream, bytes per second. */
export interface StreamRate {
  readonly sustained: RateRange;
  readonly ceiling: number;
  readonly limitedBy: readonly Limit[];
  /** What binds, and what would bind next were it lifted, in order. */
  readonly chain: readonly LimitStep[];
  readonly widenedBy?: Widener;
}

export interface NetworkRate {
  /** By stream of the network, neighbours included. */
  readonly streams: readonly StreamRate[];
  readonly links: readonly HopLedger[];
  /** The evaluation at expected values that ledgers and limits are of. */
  readonly center: Evaluation;
}

/** Bytes per second of each stream at one evaluation, exact. */
export function bytesPerSecond(evaluation: Evaluation): Rational[] {
  const { network, demands } = evaluation;
  return evaluation.rates.map(({ rate }, s) => {
    const bytes = BigInt(firstDemand(network, demands, s).bytes);
    return perSecond({ n: rate.n * bytes, d: rate.d }, network.tick);
  });
}

/** @param perTick of ticks of `tick` seconds */
function perSecond(perTick: Fraction, tick: Rational): Rational {
  return rational(perTick.n * tick.d, perTick.d * tick.n);
}

function ratesAt(network: Network, corner: Corner): number[] {
  return bytesPerSecond(evaluate(network, corner)).map(toNumber);
}

/** Bytes per second of each stream with every unknown at its low or high end. */
export function sustainedAt(network: Network, end: 'low' | 'high'): number[] {
  const at = (corner: Corner) => ratesAt(network, corner);
  return scanned(network, network.parameters.corner(end), at, end === 'low' ? Math.min : Math.max);
}

/** Rates a network in full. */
export function rateNetwork(network: Network): NetworkRate {
  const center = evaluate(network, network.parameters.expected());
  const expected = bytesPerSecond(center).map(toNumber);
  const lows = sustainedAt(network, 'low');
  const highs = sustainedAt(network, 'high');
  // All effects declared lie within the corners: where these agree, nothing widens.
  const open = expected.some((rate, s) => lows[s]! < rate || highs[s]! > rate);
  const wideners = open ? widest(network, expected) : [];
  const chains = chainsOf(center);
  const streams = network.streams.map((_, s): StreamRate => {
    const widenedBy = wideners[s];
    return {
      sustained: {
        low: Math.min(lows[s]!, expected[s]!),
        expected: expected[s]!,
        high: Math.max(highs[s]!, expected[s]!),
        kind: 'bound',
      },
      ceiling: ceilingOf(network, s),
      limitedBy: [limitOf(network, center.resources.infos[center.rates[s]!.stoppedBy]!)],
      chain: chains[s]!,
      ...(widenedBy === undefined ? {} : { widenedBy }),
    };
  });
  return { streams, links: ledgersOf(center), center };
}

/** For each stream the unknown that alone moves its rate most. */
function widest(network: Network, expected: readonly number[]): (Widener | undefined)[] {
  const found: (Widener | undefined)[] = expected.map(() => undefined);
  const { parameters } = network;
  const at = (corner: Corner) => ratesAt(network, corner);
  for (const index of parameters.unknowns()) {
    const { title, text, ask } = parameters.entries[index]!;
    const only = new Set([index]);
    const low = scanned(network, parameters.alone(index, 'low'), at, Math.min, only);
    const high = scanned(network, parameters.alone(index, 'high'), at, Math.max, only);
    expected.forEach((middle, s) => {
      const lowest = Math.min(low[s]!, middle);
      const highest = Math.max(high[s]!, middle);
      const spread = highest - lowest;
      const known = found[s];
      // A spread below a millionth of the rate is rounding of the question, not an unknown.
      if (spread <= middle * 1e-6 || (known && known.high - known.low >= spread)) return;
      found[s] = { name: title, text: text(), low: lowest, high: highest, ask };
    });
  }
  return found;
}

/** Most limits in a chain: beyond these nobody plans. */
const chainLongest = 4;

/**
 * For each stream its limits in order: what binds now; then, with every limit found so far lifted,
 * what binds next and the rate it leaves. A wire is lifted as a whole, as a faster link would.
 */
function chainsOf(center: Evaluation): LimitStep[][] {
  const { network, resources, demands } = center;
  const cycles = weights(center);
  return network.streams.map((_, s) => {
    const bytes = BigInt(firstDemand(network, demands, s).bytes);
    const lifted = new Set<number>();
    const steps: LimitStep[] = [];
    let rates = center.rates;
    let kept = resources.fills.map((_, i) => i);
    for (;;) {
      const { rate, stoppedBy } = rates[s]!;
      const index = kept[stoppedBy]!;
      const exact = perSecond({ n: rate.n * bytes, d: rate.d }, network.tick);
      const step = stepOf(network, resources.infos[index]!, toNumber(exact));
      const last = steps.at(-1);
      if (last && last.cause === step.cause && last.hop === step.hop)
        steps[steps.length - 1] = step;
      else steps.push(step);
      lifted.add(index);
      kept = resources.fills.map((_, i) => i).filter((i) => !lifted.has(i));
      const bounded = cycles.every((_, f) => kept.some((i) => resources.fills[i]!.use[f] !== 0n));
      if (!bounded || steps.length > chainLongest) return steps.slice(0, chainLongest);
      rates = fill(
        cycles,
        kept.map((i) => resources.fills[i]!),
      );
    }
  });
}

/** Wire and standard only, this stream alone, at the cheapest legal choice of everything open. */
export function ceilingOf(network: Network, s: number): number {
  const corner = network.parameters.corner('high');
  const { crossings, flow: flowAt } = network.streams[s]!;
  const given = flowAt(corner);
  const flow: Flow = {
    stream: given.stream,
    kind: given.kind,
    transferBytes: given.transferBytes,
    startOffset: 0,
    wideAddress: false,
    requestBytes: Math.max(...network.hops.map((h) => h.requestLimit)),
    transfersPerInterrupt: 0,
    ...(given.writeBytes === undefined ? {} : { writeBytes: given.writeBytes }),
  };
  let slowest = Number.POSITIVE_INFINITY;
  for (const { hop: h } of crossings) {
    const hop = network.hops[h]!;
    const config = hop.fabric.cheapest(hop.configure(corner), flow);
    const demand = hop.fabric.demand(flow, config);
    const { interval, lost } = hop.fabric.compensation(config);
    for (const direction of ['up', 'down'] as const) {
      const ticks = demand.wire[direction];
      if (ticks === 0) continue;
      const bytes = BigInt(demand.bytes) * BigInt(interval - lost);
      const perTick = { n: bytes, d: BigInt(ticks) * BigInt(interval) };
      const rate = toNumber(perSecond(perTick, hop.tick));
      if (rate < slowest) slowest = rate;
    }
  }
  return slowest;
}

function stepOf(network: Network, info: ResourceInfo, rate: number): LimitStep {
  const { account, hop, direction, cause } = limitOf(network, info);
  return { account, hop, direction, cause, rate };
}

function limitOf(network: Network, info: ResourceInfo): Limit {
  const { hop, direction, account, cause } = info;
  return { account, hop: network.hops[hop]!.name, direction, cause };
}
