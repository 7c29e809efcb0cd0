/** The prediction for one point: rates, and the ledger of one transfer on the wire that binds. */
import type { AccountId } from '../../model/accounts.ts';
import type { Direction, HopLedger, RateRange } from '../../model/answer.ts';
import type { AccountSeconds } from '../../model/reconcile.ts';
import { div, rational, toNumber } from '../../quantity/index.ts';
import { firstDemand } from '../../system/cycles.ts';
import { type Evaluation, evaluate } from '../../system/evaluate.ts';
import { ledgersOf } from '../../system/ledgers.ts';
import type { Network } from '../../system/network.ts';
import type { Corner } from '../../system/parameters.ts';
import { bytesPerSecond, sustainedAt } from '../../system/rate.ts';
import type { PointNetwork } from '../point-case.ts';

/** What the model says of one point. */
export interface Prediction {
  readonly rates: RateRange;
  readonly center: Evaluation;
  /** Bytes of one transfer. */
  readonly bytes: number;
}

/** Rates of the point's stream, the first of its network. */
export function predictPoint({ network }: PointNetwork): Prediction {
  const center = evaluate(network, network.parameters.expected());
  const expected = rateOf(center);
  const low = sustainedAt(network, 'low')[0]!;
  const high = sustainedAt(network, 'high')[0]!;
  return {
    rates: {
      low: Math.min(low, expected),
      expected,
      high: Math.max(high, expected),
      kind: 'bound',
    },
    center,
    bytes: center.flows[0]!.transferBytes,
  };
}

/** Bytes per second of the point's stream. */
export function rateOf(evaluation: Evaluation): number {
  return toNumber(bytesPerSecond(evaluation)[0]!);
}

/** Bytes per second at a corner. */
export function rateAt(network: Network, corner: Corner): number {
  return rateOf(evaluate(network, corner));
}

/** Where one transfer's time goes. */
export interface TransferLedger {
  readonly hop: string;
  readonly direction: Direction;
  readonly seconds: number;
  readonly accounts: readonly AccountSeconds[];
}

/**
 * The ledger of one transfer on the hop that binds the stream, in the data's direction: each account's
 * share of the time from one transfer to the next.
 */
export function transferLedger(evaluation: Evaluation): TransferLedger {
  const { network, resources, rates, demands, flows } = evaluation;
  const { hop: h } = resources.infos[rates[0]!.stoppedBy]!;
  const stream = network.streams[0]!;
  const crossing = stream.crossings.find((c) => c.hop === h) ?? stream.crossings[0]!;
  const direction = (flows[0]!.kind === 'write') !== crossing.flipped ? 'up' : 'down';
  const name = network.hops[crossing.hop]!.name;
  const ledger = ledgersOf(evaluation).find((l) => l.hop === name && l.direction === direction)!;
  const { bytes, transfers } = firstDemand(network, demands, 0);
  const seconds = div(rational(bytes, transfers), bytesPerSecond(evaluation)[0]!);
  return { hop: name, direction, seconds: toNumber(seconds), accounts: shares(ledger, seconds) };
}

function shares({ ledger, total }: HopLedger, seconds: ReturnType<typeof div>): AccountSeconds[] {
  const byAccount = new Map<AccountId, bigint>();
  for (const { account, ticks } of ledger) {
    byAccount.set(account, (byAccount.get(account) ?? 0n) + BigInt(ticks));
  }
  const whole = BigInt(total);
  return [...byAccount].map(([account, ticks]) => ({
    account,
    seconds: toNumber(rational(seconds.n * ticks, seconds.d * whole)),
  }));
}

/** The account whose time per transfer changes most from one evaluation to another, if any does. */
export function changedMost(from: Evaluation, to: Evaluation): AccountId | undefined {
  const before = transferLedger(from);
  const after = transferLedger(to);
  const grows = after.seconds > before.seconds;
  const was = new Map(before.accounts.map((a) => [a.account, a.seconds]));
  const now = new Map(after.accounts.map((a) => [a.account, a.seconds]));
  let best: { account: AccountId; change: number } | undefined;
  for (const account of new Set([...was.keys(), ...now.keys()])) {
    const change = (now.get(account) ?? 0) - (was.get(account) ?? 0);
    const along = grows ? change : -change;
    if (along > 0 && (best === undefined || along > best.change)) best = { account, change: along };
  }
  return best?.account;
}
