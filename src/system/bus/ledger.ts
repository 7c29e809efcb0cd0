/** The ledger of a segment: one wire for both directions, the window in whole clocks. */
import { accountIndex, accounts } from '../../model/accounts.ts';
import type { HopLedger } from '../../model/answer.ts';
import { accountAt } from '../../model/attribution.ts';
import { documentTicks, LedgerBuilder } from '../../model/ledger.ts';
import { lcm } from '../../numeric/gcd.ts';
import {
  compare,
  div,
  mul,
  type Rational,
  rational,
  toNumber,
  zero,
} from '../../quantity/index.ts';
import { type Cost, yielding } from './cost.ts';
import type { BusEvaluation } from './evaluate.ts';
import type { BusPlan } from './plan.ts';

const longestExact = BigInt(Number.MAX_SAFE_INTEGER);

interface Charged {
  readonly name: string;
  readonly cost: Cost;
  /** Transfers a clock. */
  readonly rate: Rational;
  readonly kind: 'write' | 'read';
  readonly own: boolean;
}

/**
 * Where the clocks go at the rates that come about.
 *
 * @param rates bytes a second of each stream, at most what the bus allows
 */
export function busLedger(
  plan: BusPlan,
  evaluation: BusEvaluation,
  rates: readonly Rational[],
): HopLedger {
  const charged = chargedOf(plan, evaluation, rates);
  const window = windowOf(charged.map((c) => c.rate));
  const builder = new LedgerBuilder(window);
  const alone = evaluation.turns === undefined;
  const counted = charged.map((c) => ({ ...c, times: (window * c.rate.n) / c.rate.d }));
  for (const { name, cost, times } of counted) chargeBusy(builder, name, cost, times);
  for (const { cost, times, own } of counted) {
    if (!own) continue;
    for (const id of yielding) {
      const ticks = BigInt(cost.accounts[accountIndex[id]]!) * times;
      builder.chargeUpTo(id, ticks);
    }
  }
  const held = evaluation.rates.some((r, s) => compare(rates[s]!, r) < 0);
  const writes = charged.every((c) => c.kind === 'write');
  const rest = held && alone ? (writes ? 'retry' : 'request_stall') : 'idle';
  return {
    hop: plan.hop,
    link: plan.link,
    direction: 'both',
    tickSeconds: toNumber(plan.clock),
    tickRational: `${plan.clock.n}/${plan.clock.d}`,
    total: documentTicks(window),
    ledger: builder.close(rest),
  };
}

function chargedOf(plan: BusPlan, e: BusEvaluation, rates: readonly Rational[]): Charged[] {
  const perClock = (bytesPerSecond: Rational, bytes: number) =>
    div(mul(bytesPerSecond, plan.clock), rational(bytes));
  const own = e.at.streams.map((single, s): Charged => {
    const alone = e.alone[s]!;
    const turn = e.turns?.[s];
    const { kind } = single.stream;
    const { name } = plan.of.case.streams[s]!;
    if (!turn)
      return { name, cost: alone, rate: perClock(rates[s]!, alone.bytes), kind, own: true };
    // Among others: its turns, and of its waits what time is left for.
    const accounts = turn.accounts.map((n, i) => {
      const id = accountAt(i);
      return (yielding as readonly string[]).includes(id) ? alone.accounts[i]! : n;
    });
    return {
      name,
      cost: { ...turn, accounts },
      rate: perClock(rates[s]!, turn.bytes),
      kind,
      own: true,
    };
  });
  const others = e.others.map(
    ({ device, cost, rate }): Charged => ({
      name: device.name,
      cost,
      rate: perClock(rate, cost.bytes),
      kind: device.single.stream.kind,
      own: false,
    }),
  );
  return [...own, ...others].filter((c) => compare(c.rate, zero) > 0);
}

function chargeBusy(builder: LedgerBuilder, name: string, cost: Cost, times: bigint): void {
  cost.accounts.forEach((clocks, i) => {
    const { id } = accounts[i]!;
    if (clocks === 0 || (yielding as readonly string[]).includes(id)) return;
    const ticks = BigInt(clocks) * times;
    builder.chargeUpTo(id, ticks, id === 'payload' ? name : undefined);
  });
}

/** The smallest window of whole transfers; where that is beyond 2^53 clocks, the longest within. */
function windowOf(rates: readonly Rational[]): bigint {
  let window = 1n;
  for (const { d } of rates) {
    window = lcm(window, d);
    if (window > longestExact) return longestExact;
  }
  return window;
}
