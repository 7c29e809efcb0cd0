/**
 * The closed form over a whole path: every wire, window, engine and stage is a resource; streams grow
 * together in the proportion of their required rates until one is full.
 */

import { type FlowRate, fill } from '../numeric/filling.ts';
import { lcm } from '../numeric/gcd.ts';
import { demandsOf, firstDemand } from './cycles.ts';
import type { Network } from './network.ts';
import type { Corner } from './parameters.ts';
import { type Resources, resourcesOf, type Situation } from './resources.ts';

export interface Evaluation extends Situation {
  readonly resources: Resources;
  /** Cycles per system tick and the resource that stopped each stream. */
  readonly rates: readonly FlowRate[];
}

/** Rates every stream of a network at one corner. */
export function evaluate(network: Network, corner: Corner): Evaluation {
  const configs = network.hops.map((hop) => hop.configure(corner));
  const flows = network.streams.map((s) => s.flow(corner));
  const demands = demandsOf(network, configs, flows);
  const pauses = network.streams.map((s) => s.pauses(corner));
  const situation = { network, corner, configs, flows, demands, pauses };
  const cycles = weights(situation);
  const open = resourcesOf(situation);
  const first = fill(cycles, open.fills);
  const resources = lessBeside(open, first);
  const rates = resources === open ? first : fill(cycles, resources.fills);
  return { network, corner, configs, flows, demands, pauses, resources, rates };
}

/**
 * Resources less what other streams' Acks and credit updates take of them at the rates of a first
 * filling. Such a stream is held to that rate, so that the part set aside for it is enough.
 */
function lessBeside(open: Resources, first: readonly FlowRate[]): Resources {
  const shared = open.beside.map((ticks, r) => {
    const others = open.fills[r]!.use.some((use) => use !== 0n);
    return others ? ticks : [];
  });
  const held = first.map((_, f) => shared.some((ticks) => (ticks[f] ?? 0n) !== 0n));
  if (!held.includes(true)) return open;
  const fills = open.fills.map((fillResource, r) => {
    let { n, d } = fillResource.capacity;
    shared[r]!.forEach((ticks, f) => {
      if (ticks === 0n) return;
      const { rate } = first[f]!;
      n = n * rate.d - ticks * rate.n * d;
      d *= rate.d;
    });
    // Nothing is set aside beyond what there is.
    return { ...fillResource, capacity: n > 0n ? { n, d } : { n: 1n, d: 1_000_000_000n } };
  });
  const caps = first.flatMap(({ rate, stoppedBy }, f) =>
    held[f]
      ? [{ rate, info: open.infos[stoppedBy]!, use: first.map((_, g) => (g === f ? 1n : 0n)) }]
      : [],
  );
  return {
    fills: [...fills, ...caps.map(({ rate, use }) => ({ capacity: rate, use }))],
    infos: [...open.infos, ...caps.map(({ info }) => info)],
    beside: [...open.beside, ...caps.map(() => [])],
  };
}

/** Cycles of each stream in the proportion in which their bytes grow. */
export function weights({ network, demands }: Situation): bigint[] {
  const bytes = network.streams.map((_, s) => BigInt(firstDemand(network, demands, s).bytes));
  const scale = network.streams.reduce((all, { wanted }, s) => lcm(all, wanted.d * bytes[s]!), 1n);
  return network.streams.map(({ wanted: { n, d } }, s) => (n * scale) / (d * bytes[s]!));
}
