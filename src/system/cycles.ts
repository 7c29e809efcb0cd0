/** Demands of the streams of a network, in one cycle a stream whatever hop it is on. */
import type { Charges, Demand, Flow } from '../links/fabric.ts';
import type { Direction } from '../model/answer.ts';
import { lcmNumber } from '../numeric/gcd.ts';
import type { Network } from './network.ts';

/** By hop, then stream; undefined where the stream does not cross the hop. */
export type Demands = readonly (readonly (Demand | undefined)[])[];

/**
 * Hops may close their cycles after different numbers of transfers (their Acks differ); a stream's
 * cycle is the same everywhere, so each demand is repeated to the least common one. A stream that
 * crosses a hop twice, up and down again, has both crossings added.
 */
export function demandsOf(
  network: Network,
  configs: readonly unknown[],
  flows: readonly Flow[],
): Demands {
  const table: (Demand | undefined)[][] = network.hops.map(() => flows.map(() => undefined));
  flows.forEach((flow, s) => {
    const { crossings } = network.streams[s]!;
    const single = crossings.map(({ hop, flipped }) => {
      const demand = network.hops[hop]!.fabric.demand(flow, configs[hop], flipped);
      return flipped ? flip(demand) : demand;
    });
    const transfers = single.reduce((all, d) => lcmNumber(all, d.transfers), 1);
    single.forEach((demand, k) => {
      const { hop } = crossings[k]!;
      const whole = repeated(demand, transfers / demand.transfers);
      const before = table[hop]![s];
      table[hop]![s] = before ? together(before, whole) : whole;
    });
  });
  return table;
}

/**
 * What a direction of a hop stands filled between one stream's link-layer packets, ticks a cycle: only
 * where every other stream has more of them than packets too, so that none has a packet to put between.
 */
export function gapsOf(
  demands: readonly (Demand | undefined)[],
  s: number,
  direction: Direction,
): number {
  const gaps = (d: Demand | undefined) => d?.linkGaps?.[direction] ?? 0;
  const alike = demands.every((d) => (d?.wire[direction] ?? 0) === 0 || gaps(d) > 0);
  return alike ? gaps(demands[s]) : 0;
}

/** The demand of a stream on the first hop it crosses: its cycle and what its engine sends. */
export function firstDemand(network: Network, demands: Demands, s: number): Demand {
  return demands[network.streams[s]!.crossings[0]!.hop]![s]!;
}

const noFill = { up: 0, down: 0 } as const;

function flip(demand: Demand): Demand {
  const { charges, wire, linkFill = noFill, linkGaps = noFill } = demand;
  return {
    ...demand,
    charges: { up: charges.down, down: charges.up },
    wire: { up: wire.down, down: wire.up },
    linkFill: { up: linkFill.down, down: linkFill.up },
    linkGaps: { up: linkGaps.down, down: linkGaps.up },
  };
}

function mapCharges(charges: Charges, change: (ticks: number) => number): Charges {
  return { up: charges.up.map(change), down: charges.down.map(change) };
}

function repeated(demand: Demand, times: number): Demand {
  if (times === 1) return demand;
  const { charges, wire, sent, linkFill = noFill, linkGaps = noFill } = demand;
  return {
    transfers: demand.transfers * times,
    bytes: demand.bytes * times,
    charges: mapCharges(charges, (ticks) => ticks * times),
    wire: { up: wire.up * times, down: wire.down * times },
    sent: {
      packets: sent.packets * times,
      chunks: sent.chunks * times,
      ticks: sent.ticks * times,
      fillTicks: sent.fillTicks * times,
    },
    carriedTicks: demand.carriedTicks * times,
    linkFill: { up: linkFill.up * times, down: linkFill.down * times },
    linkGaps: { up: linkGaps.up * times, down: linkGaps.down * times },
  };
}

function together(a: Demand, b: Demand): Demand {
  return {
    ...a,
    charges: {
      up: a.charges.up.map((ticks, i) => ticks + b.charges.up[i]!),
      down: a.charges.down.map((ticks, i) => ticks + b.charges.down[i]!),
    },
    wire: { up: a.wire.up + b.wire.up, down: a.wire.down + b.wire.down },
    // Each direction now carries packets of the stream itself.
    linkFill: { up: 0, down: 0 },
    linkGaps: { up: 0, down: 0 },
  };
}
