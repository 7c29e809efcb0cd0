/** What a window of a simulation shows: ledgers that balance, rates, latencies, high-water marks. */
import type { CounterSnapshot } from '../../links/event-state.ts';
import type { WireUse } from '../../links/events.ts';
import { type AccountId, accountIndex } from '../../model/accounts.ts';
import type { HopLedger } from '../../model/answer.ts';
import { accountAt } from '../../model/attribution.ts';
import { documentTicks, LedgerBuilder } from '../../model/ledger.ts';
import { toNumber } from '../../quantity/index.ts';
import type { World } from './world.ts';

/** The state of all counts at one end of a window. */
export interface Edge {
  readonly time: number;
  readonly counted: CounterSnapshot;
  /** What was on each wire, and how much of it had passed. */
  readonly passing: readonly ({ readonly use: WireUse; readonly elapsed: number } | undefined)[];
}

export function edgeOf(world: World): Edge {
  for (const transmitter of world.transmitters) transmitter.settle();
  return {
    time: world.kernel.now,
    counted: world.state.counted(),
    passing: world.transmitters.map((transmitter) => transmitter.passing()),
  };
}

/** System ticks by account and, for payload, stream. */
class Sums {
  readonly #ticks = new Map<string, { account: AccountId; stream?: string; ticks: bigint }>();

  add(account: AccountId, stream: string | undefined, ticks: bigint): void {
    if (ticks === 0n) return;
    const own = account === 'payload' ? stream : undefined;
    const key = `${account} ${own ?? ''}`;
    const row = this.#ticks.get(key);
    if (row) row.ticks += ticks;
    else this.#ticks.set(key, { account, ticks, ...(own === undefined ? {} : { stream: own }) });
  }

  rows() {
    return [...this.#ticks.values()].sort(
      (a, b) => accountIndex[a.account] - accountIndex[b.account],
    );
  }
}

/** Ledger of one direction of a hop over the window, in ticks of the hop. */
export function ledgerOf(world: World, index: number, from: Edge, to: Edge): HopLedger {
  const hop = world.network.hops[index >> 1]!;
  const { scale } = hop;
  const transmitter = world.transmitters[index]!;
  const counted = to.counted.since(from.counted);
  const nameOf = (stream?: number) =>
    stream === undefined ? undefined : world.network.streams[stream]!.name;
  const sums = new Sums();
  for (const { charges, count, stream } of transmitter.occupied(counted)) {
    charges.forEach((ticks, i) => {
      sums.add(accountAt(i), nameOf(stream), BigInt(ticks) * scale * BigInt(count));
    });
  }
  transmitter.idled(counted).forEach((ticks, i) => {
    sums.add(accountAt(i), undefined, BigInt(ticks));
  });
  // Packets are counted when they start: add what was left of one at the start, take off the rest of
  // the one at the end.
  for (const [edge, sign] of [
    [from, 1n],
    [to, -1n],
  ] as const) {
    const cut = edge.passing[index];
    if (!cut) continue;
    restOf(cut.use, cut.elapsed, scale).forEach((ticks, i) => {
      sums.add(accountAt(i), nameOf(cut.use.stream), sign * ticks);
    });
  }
  const total = BigInt(to.time - from.time) / scale;
  const builder = new LedgerBuilder(total);
  // Where the hop's tick is several of the system's, parts of one go to the next account.
  let before = 0n;
  for (const { account, stream, ticks } of sums.rows()) {
    const after = before + ticks;
    builder.charge(account, after / scale - before / scale, stream);
    before = after;
  }
  if (before !== total * scale) {
    throw new Error(`${hop.name}: ${before} ticks are charged of ${total * scale}`);
  }
  return {
    hop: hop.name,
    link: hop.fabric.describe(world.configs[index >> 1]),
    direction: index % 2 === 0 ? 'up' : 'down',
    tickSeconds: toNumber(hop.tick),
    tickRational: `${hop.tick.n}/${hop.tick.d}`,
    total: documentTicks(total),
    ledger: builder.close(),
  };
}

/** What is left of a packet cut by the window's edge; what passed is taken in account order. */
function restOf({ charges }: WireUse, elapsed: number, scale: bigint): bigint[] {
  let passed = BigInt(elapsed);
  return charges.map((ticks) => {
    const all = BigInt(ticks) * scale;
    const taken = all < passed ? all : passed;
    passed -= taken;
    return all - taken;
  });
}
