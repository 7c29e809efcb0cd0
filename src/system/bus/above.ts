/**
 * The way above a bridge: its PCI Express side as a case of its own, the bridge in the place of the
 * module. It posts what comes over the bus and asks for what is read.
 */
import { add, div, mul, quantity, type Rational, rational } from '../../quantity/index.ts';
import { buildNetwork } from '../build.ts';
import type { Case } from '../case.ts';
import type { GivenQuantity } from '../given.ts';
import type { Network } from '../network.ts';
import type { Corner } from '../parameters.ts';
import { readsHeld } from '../round-trip.ts';
import type { BusCase } from './come-up.ts';

/** The PCI Express hops above a bridge. */
export interface Above {
  readonly network: Network;
  readonly decided: ReturnType<typeof buildNetwork>['decided'];
  /**
   * Seconds from a bridge's request of `bytes` to all its data, for stream `s`; the requests it is
   * cut into go out together.
   */
  roundTrip(corner: Corner, s: number, bytes: number): Rational;
}

/** Enough requests in flight never to be what holds: how many there are is counted on the bus. */
const REQUESTS = '256';

/**
 * @param burst bytes of the bursts that the bridge posts; packets do not straddle two
 * @param fetch bytes of its reads
 */
export function aboveBridge(b: BusCase, burst: number, fetch: number): Above | undefined {
  const { bridge } = b;
  if (!bridge) return undefined;
  const { network, decided } = buildNetwork(upperCase(b, burst, fetch));
  return {
    network,
    decided,
    roundTrip: (corner, s, bytes) => roundTrip(network, corner, s, bytes),
  };
}

function upperCase({ case: c, bridge }: BusCase, burst: number, fetch: number): Case {
  const { place } = c.streams[0]!;
  const derived = (text: string, dimension: 'count' | 'size' | 'time'): GivenQuantity => ({
    value: quantity(text, dimension),
    basis: 'assumed',
    reference: 'counted on the bus instead',
    place,
    from: 'default',
  });
  const { carrier: _, ...rest } = c;
  const interrupts = c.module.dma?.transfers_per_interrupt;
  return {
    ...rest,
    module: {
      ...c.module,
      id: bridge!.id,
      pcie: bridge!.pcie,
      dma: {
        outstanding_requests: derived(REQUESTS, 'count'),
        request_size: derived(`${Math.min(4096, Math.max(64, fetch))} B`, 'size'),
        gap_per_packet: derived('0 s', 'time'),
        setup_per_transfer: derived('0 s', 'time'),
        chunk: derived(`${burst} B`, 'size'),
        ...(interrupts ? { transfers_per_interrupt: interrupts } : {}),
      },
    },
    switches: c.switches.slice(1),
    neighbours: c.neighbours.filter((n) => n.at.value !== bridge!.id),
    // What stands beside the links is counted once, on the bus.
    streams: c.streams.map((s) => ({ ...s, stages: [] })),
  };
}

function roundTrip(network: Network, corner: Corner, s: number, bytes: number): Rational {
  const stream = network.streams[s]!;
  const configs = network.hops.map((hop) => hop.configure(corner));
  const flow = { ...stream.flow(corner), transferBytes: bytes, startOffset: 0 };
  const { hop } = stream.crossings[0]!;
  const { latency } = stream.reads(corner);
  const held = readsHeld({ network, configs, corner }, flow, s, latency);
  const classes = network.hops[hop]!.fabric.requests(flow, configs[hop]);
  const count = classes.reduce((sum, r) => sum + r.count, 0);
  // Those behind the first follow at the pace of the slowest hop.
  let pace = 0n;
  for (const { hop: h } of stream.crossings) {
    const { fabric, scale } = network.hops[h]!;
    const ticks = BigInt(fabric.readTrip(classes[0]!, flow, configs[h]).completionTicks) * scale;
    if (ticks > pace) pace = ticks;
  }
  const mean = div(rational(held), rational(count));
  return mul(add(mean, rational(pace * BigInt(count - 1))), network.tick);
}
