/** How long reads are out: the time beyond the wires, and the wires of a request and its completions. */
import type { Flow, RequestClass } from '../links/fabric.ts';
import type { Network } from './network.ts';
import type { Corner } from './parameters.ts';

/** A network at one corner, its hops configured. */
interface Configured {
  readonly network: Network;
  readonly configs: readonly unknown[];
  readonly corner: Corner;
}

/**
 * System ticks for which one transfer of a stream holds read requests, all of them added up.
 * @param latency system ticks of each beyond the wires
 */
export function readsHeld(at: Configured, flow: Flow, s: number, latency: bigint): bigint {
  const { network, configs } = at;
  const { hop } = network.streams[s]!.crossings[0]!;
  let held = 0n;
  for (const request of network.hops[hop]!.fabric.requests(flow, configs[hop])) {
    held += BigInt(request.count) * (latency + roundTrip(at, request, flow, s));
  }
  return held;
}

/**
 * Wires of a request and its completions. Hops joined by switches that cut through act as one: a
 * packet is on all of them at once, for the time of the slowest. Where a switch stores, one more
 * packet's time is added; of the completions all count on the slowest hop.
 */
function roundTrip(
  { network, configs, corner }: Configured,
  request: RequestClass,
  flow: Flow,
  s: number,
): bigint {
  let total = 0n;
  let slowest = 0n;
  let lastOfSlowest = 0n;
  let [ask, last] = [0n, 0n];
  network.streams[s]!.crossings.forEach(({ hop, stored }, k) => {
    const { fabric, scale } = network.hops[hop]!;
    const trip = fabric.readTrip(request, flow, configs[hop]);
    if (k > 0 && stored(corner)) {
      total += ask + last;
      [ask, last] = [0n, 0n];
    }
    const ticks = (of: number) => BigInt(of) * scale;
    ask = larger(ask, ticks(trip.requestTicks));
    last = larger(last, ticks(trip.lastCompletionTicks));
    const all = ticks(trip.completionTicks);
    if (all > slowest) {
      slowest = all;
      lastOfSlowest = ticks(trip.lastCompletionTicks);
    }
  });
  return total + ask + last + slowest - lastOfSlowest;
}

/** The larger of two. */
export function larger(a: bigint, b: bigint): bigint {
  return a > b ? a : b;
}
