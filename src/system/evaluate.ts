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
  const resources = resourcesOf(situation);
  const rates = fill(weights(situation), resources.fills);
  return { network, corner, configs, flows, demands, pauses, resources, rates };
}

/** Cycles of each stream in the proportion in which their bytes grow. */
export function weights({ network, demands }: Situation): bigint[] {
  const bytes = network.streams.map((_, s) => BigInt(firstDemand(network, demands, s).bytes));
  const scale = network.streams.reduce((all, { wanted }, s) => lcm(all, wanted.d * bytes[s]!), 1n);
  return network.streams.map(({ wanted: { n, d } }, s) => (n * scale) / (d * bytes[s]!));
}
