/** The ledger of every direction of every hop at one evaluation, in exact ticks. */
import { type AccountId, accounts } from '../model/accounts.ts';
import type { Direction, HopLedger } from '../model/answer.ts';
import { documentTicks, LedgerBuilder } from '../model/ledger.ts';
import type { Fraction } from '../numeric/filling.ts';
import { lcm } from '../numeric/gcd.ts';
import { rational, toNumber } from '../quantity/index.ts';
import { firstDemand, gapsOf } from './cycles.ts';
import type { Evaluation } from './evaluate.ts';

export function ledgersOf(evaluation: Evaluation): HopLedger[] {
  return evaluation.network.hops.flatMap((_, h) =>
    (['up', 'down'] as const).map((direction) => ledgerOf(evaluation, h, direction)),
  );
}

function ledgerOf(evaluation: Evaluation, h: number, direction: Direction): HopLedger {
  const hop = evaluation.network.hops[h]!;
  const config = evaluation.configs[h];
  const { interval, lost } = hop.fabric.compensation(config);
  // Cycles per tick of this hop, not of the system; streams that do not cross it count for nothing.
  const rates = evaluation.rates.map(({ rate }, s) =>
    evaluation.demands[h]![s] ? { n: rate.n * hop.scale, d: rate.d } : { n: 0n, d: 1n },
  );
  const window = windowOf(rates, BigInt(interval));
  const builder = new LedgerBuilder(window);
  const cycles = rates.map(({ n, d }) => (window * n) / d);
  chargeStreams(builder, evaluation, h, direction, cycles);
  builder.charge('clock_compensation', (window / BigInt(interval)) * BigInt(lost));
  for (const loss of hop.fabric.losses(config)) {
    builder.chargeUpTo(loss.account, (window * BigInt(loss.lost)) / BigInt(loss.interval));
  }
  chargePauses(builder, evaluation, h, direction, cycles);
  const demands = evaluation.demands[h]!;
  demands.forEach((demand, s) => {
    const fill = (demand?.linkFill?.[direction] ?? 0) + gapsOf(demands, s, direction);
    builder.chargeUpTo('padding', BigInt(fill) * cycles[s]!);
  });
  return {
    hop: hop.name,
    link: hop.fabric.describe(config),
    direction,
    tickSeconds: toNumber(hop.tick),
    tickRational: `${hop.tick.n}/${hop.tick.d}`,
    total: documentTicks(window),
    ledger: builder.close(waitingFor(evaluation, h, direction)),
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
    if (n === 0n) continue;
    window = lcm(window, rational(n, d).d);
    if (window > longestExact) return (longestExact / interval) * interval;
  }
  return window;
}

function chargeStreams(
  builder: LedgerBuilder,
  evaluation: Evaluation,
  h: number,
  direction: Direction,
  cycles: readonly bigint[],
): void {
  evaluation.demands[h]!.forEach((demand, s) => {
    demand?.charges[direction].forEach((ticks, index) => {
      if (ticks === 0) return;
      const { id } = accounts[index]!;
      const stream = id === 'payload' ? evaluation.network.streams[s]!.name : undefined;
      builder.charge(id, BigInt(ticks) * cycles[s]!, stream);
    });
  });
}

/**
 * Pauses of an engine that a wire really stands idle for; what the wire does meanwhile comes first. A
 * pause passes on to every hop that the data crosses: it lasts as long there.
 */
function chargePauses(
  builder: LedgerBuilder,
  evaluation: Evaluation,
  h: number,
  direction: Direction,
  cycles: readonly bigint[],
): void {
  const { network, demands, flows } = evaluation;
  network.streams.forEach(({ crossings }, s) => {
    const here = demands[h]![s];
    if (!here || dataDirection(evaluation, s, h) !== direction) return;
    const from = network.hops[crossings[0]!.hop]!.scale;
    const to = network.hops[h]!.scale;
    const times = (ticks: number) => (BigInt(ticks) * cycles[s]! * from) / to;
    const { sent, transfers } = firstDemand(network, demands, s);
    const { packets, chunks } = sent;
    const { perPacket, perChunk, perTransfer, powerExit } = evaluation.pauses[s]!;
    // A read engine's pauses stand between requests; on the data's wire only the set-up shows.
    const write = flows[s]!.kind === 'write';
    const gaps = times(write ? packets * perPacket + chunks * perChunk : 0);
    // Lanes filled behind a packet that nothing follows at once are part of the pause.
    const fill = BigInt(here.sent.fillTicks) * cycles[s]!;
    const filled =
      perPacket > 0 ? fill : perChunk > 0 ? (fill * BigInt(chunks)) / BigInt(packets) : 0n;
    const padding = filled < gaps ? filled : gaps;
    builder.chargeUpTo('padding', padding);
    builder.chargeUpTo('source_gap', gaps - padding);
    builder.chargeUpTo('setup', times(transfers * (perTransfer - powerExit)));
    builder.chargeUpTo('power_exit', times(transfers * powerExit));
  });
}

/** Direction in which a stream's data crosses a hop (where twice, the first time). */
function dataDirection(evaluation: Evaluation, s: number, h: number): Direction {
  const crossing = evaluation.network.streams[s]!.crossings.find(({ hop }) => hop === h)!;
  return (evaluation.flows[s]!.kind === 'write') !== crossing.flipped ? 'up' : 'down';
}

/** What a direction's remaining time waits for: the one stall that stopped every stream on it. */
function waitingFor(evaluation: Evaluation, h: number, direction: Direction): AccountId {
  const stalls = evaluation.rates.flatMap(({ stoppedBy }, s) => {
    if (!evaluation.demands[h]![s] || dataDirection(evaluation, s, h) !== direction) return [];
    return [evaluation.resources.infos[stoppedBy]!];
  });
  const first = stalls[0];
  if (!first || first.kind === 'wire') return 'idle';
  // Behind the hop where a stall arises, what is left over is nobody's wish.
  if (first.hop !== h) return 'idle';
  return stalls.every((r) => r.account === first.account) ? first.account : 'idle';
}
