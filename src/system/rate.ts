/**
 * Rates of a network: sustained low, expected and high, the ceiling, what widens the result, and the
 * ledger of every wire at expected.
 */
import type { Demand, Flow } from '../links/fabric.ts';
import { accounts } from '../model/accounts.ts';
import type { Direction, HopLedger, Limit, RateRange, Widener } from '../model/answer.ts';
import { documentTicks, LedgerBuilder } from '../model/ledger.ts';
import type { Fraction } from '../numeric/filling.ts';
import { lcm } from '../numeric/gcd.ts';
import { mul, type Rational, rational, toNumber } from '../quantity/index.ts';
import { type Evaluation, evaluate } from './evaluate.ts';
import type { Network, NetworkHop } from './network.ts';
import type { Corner } from './parameters.ts';
import { scanned } from './scan.ts';

/** Sustained rates of one stream, bytes per second. */
export interface StreamRate {
  readonly sustained: RateRange;
  readonly ceiling: number;
  readonly limitedBy: readonly Limit[];
  readonly widenedBy?: Widener;
}

export interface NetworkRate {
  readonly streams: readonly StreamRate[];
  readonly links: readonly HopLedger[];
}

/** Bytes per second of each stream at one evaluation, exact. */
export function bytesPerSecond(network: Network, evaluation: Evaluation): Rational[] {
  return evaluation.rates.map(({ rate }, s) => {
    const bytes = BigInt(evaluation.demands[0]![s]!.bytes);
    return mul(rational(rate.n * bytes, rate.d), inverse(network.tick));
  });
}

function inverse({ n, d }: Rational): Rational {
  return rational(d, n);
}

/** Bytes per second of each stream with every unknown at its low or high end. */
export function sustainedAt(network: Network, end: 'low' | 'high'): number[] {
  const at = (corner: Corner) => bytesPerSecond(network, evaluate(network, corner)).map(toNumber);
  return scanned(network, network.parameters.corner(end), at, end === 'low' ? Math.min : Math.max);
}

/** Rates a network in full. */
export function rateNetwork(network: Network): NetworkRate {
  const at = (corner: Corner) => bytesPerSecond(network, evaluate(network, corner)).map(toNumber);
  const { parameters } = network;
  const center = evaluate(network, parameters.expected());
  const expected = bytesPerSecond(network, center).map(toNumber);
  const lows = sustainedAt(network, 'low');
  const highs = sustainedAt(network, 'high');
  // All effects declared lie within the corners: where these agree, nothing widens.
  const open = expected.some((rate, s) => lows[s]! < rate || highs[s]! > rate);
  const wideners = open ? widest(network, at, expected) : [];
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
      limitedBy: [limitOf(network, center, s)],
      ...(widenedBy === undefined ? {} : { widenedBy }),
    };
  });
  return { streams, links: ledgers(network, center) };
}

/** For each stream the unknown that alone moves its rate most. */
function widest(
  network: Network,
  at: (corner: Corner) => number[],
  expected: readonly number[],
): (Widener | undefined)[] {
  const found: (Widener | undefined)[] = expected.map(() => undefined);
  const { parameters } = network;
  for (const index of parameters.unknowns()) {
    const entry = parameters.entries[index]!;
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
      const { title, text, ask } = entry;
      found[s] = { name: title, text: text(), low: lowest, high: highest, ask };
    });
  }
  return found;
}

/** Wire and standard only, this stream alone, at the cheapest legal choice of everything open. */
export function ceilingOf(network: Network, s: number): number {
  const corner = network.parameters.corner('high');
  const given = network.streams[s]!.flow(corner);
  const flow: Flow = {
    stream: given.stream,
    kind: given.kind,
    transferBytes: given.transferBytes,
    startOffset: 0,
    wideAddress: false,
    requestBytes: Math.min(...network.hops.map((h) => h.requestLimit)),
    transfersPerInterrupt: 0,
  };
  let slowest: Rational | undefined;
  for (const hop of network.hops) {
    const config = hop.fabric.cheapest(hop.configure(corner), flow);
    const demand = hop.fabric.demand(flow, config);
    const { interval, lost } = hop.fabric.compensation(config);
    for (const direction of ['up', 'down'] as const) {
      const ticks = demand.wire[direction];
      if (ticks === 0) continue;
      const bytes = BigInt(demand.bytes) * BigInt(interval - lost);
      const perTick = rational(bytes, BigInt(ticks) * BigInt(interval));
      const rate = mul(perTick, inverse(hop.tick));
      if (slowest === undefined || toNumber(rate) < toNumber(slowest)) slowest = rate;
    }
  }
  return toNumber(slowest!);
}

function limitOf(network: Network, evaluation: Evaluation, s: number): Limit {
  const { hop, direction, account, cause } = evaluation.resources[evaluation.rates[s]!.stoppedBy]!;
  return { account, hop: network.hops[hop]!.name, direction, cause };
}

/** The ledger of every direction of every hop at one evaluation. */
function ledgers(network: Network, evaluation: Evaluation): HopLedger[] {
  return network.hops.flatMap((hop, h) =>
    (['up', 'down'] as const).map((direction) => ledgerOf(network, evaluation, hop, h, direction)),
  );
}

function ledgerOf(
  network: Network,
  evaluation: Evaluation,
  hop: NetworkHop,
  h: number,
  direction: Direction,
): HopLedger {
  const config = evaluation.configs[h];
  const { interval, lost } = hop.fabric.compensation(config);
  // Cycles per tick of this hop, not of the system.
  const rates = evaluation.rates.map(({ rate }) => ({ n: rate.n * hop.scale, d: rate.d }));
  const window = windowOf(rates, BigInt(interval));
  const builder = new LedgerBuilder(window);
  const cycles = rates.map(({ n, d }) => (window * n) / d);
  evaluation.demands[h]!.forEach((demand, s) => {
    chargeStream(builder, demand, direction, cycles[s]!, network.streams[s]!.stream.name);
  });
  builder.charge('clock_compensation', (window / BigInt(interval)) * BigInt(lost));
  if (h === 0) chargePauses(builder, evaluation, direction, cycles);
  const tick = hop.tick;
  return {
    hop: hop.name,
    link: hop.fabric.describe(config),
    direction,
    tickSeconds: toNumber(tick),
    tickRational: `${tick.n}/${tick.d}`,
    total: documentTicks(window),
    ledger: builder.close(waitingFor(evaluation, direction)),
  };
}

const longestExact = BigInt(Number.MAX_SAFE_INTEGER);

/**
 * The smallest window in which every stream completes whole cycles and clock compensation whole
 * intervals. Where that is beyond 2^53 ticks, the longest one within them, the remainder (less than a
 * cycle of each stream) going to idle.
 */
function windowOf(rates: readonly Fraction[], interval: bigint): bigint {
  let window = interval;
  for (const { n, d } of rates) {
    window = lcm(window, rational(n, d).d);
    if (window > longestExact) return (longestExact / interval) * interval;
  }
  return window;
}

function chargeStream(
  builder: LedgerBuilder,
  demand: Demand,
  direction: Direction,
  cycles: bigint,
  name: string,
): void {
  demand.charges[direction].forEach((ticks, index) => {
    const { id } = accounts[index]!;
    const stream = id === 'payload' ? name : undefined;
    builder.charge(id, BigInt(ticks) * cycles, stream);
  });
}

/** Pauses of the engine that the wire really stands idle for; what it does meanwhile comes first. */
function chargePauses(
  builder: LedgerBuilder,
  evaluation: Evaluation,
  direction: Direction,
  cycles: readonly bigint[],
): void {
  const { perPacket, perChunk, perTransfer } = evaluation.pauses;
  evaluation.demands[0]!.forEach((demand, s) => {
    const write = evaluation.flows[s]!.kind === 'write';
    if ((direction === 'up') !== write) return;
    const { packets, chunks } = demand.sent;
    // A read engine's pauses stand between requests; on the data's wire only the set-up shows.
    const gaps = write ? packets * perPacket + chunks * perChunk : 0;
    builder.chargeUpTo('source_gap', BigInt(gaps) * cycles[s]!);
    builder.chargeUpTo('setup', BigInt(demand.transfers * perTransfer) * cycles[s]!);
  });
}

/** What a direction's remaining time waits for: the one stall that stopped every stream on it. */
function waitingFor(evaluation: Evaluation, direction: Direction) {
  const stalls = evaluation.rates.flatMap(({ stoppedBy }, s) => {
    const write = evaluation.flows[s]!.kind === 'write';
    return (direction === 'up') === write ? [evaluation.resources[stoppedBy]!] : [];
  });
  const first = stalls[0];
  if (!first || first.kind === 'wire') return 'idle';
  return stalls.every((r) => r.account === first.account) ? first.account : 'idle';
}
