/**
 * Which hops a stream crosses, and which way round: up to the host; up to a switch and down to a peer;
 * by redirection up to the root and down again; or started by a processor at the upper end.
 */
import type { Case, Stream } from './case.ts';
import type { Crossing } from './network.ts';
import type { Corner } from './parameters.ts';

/** Whether the switch behind hop k stores packets whole before it sends them on. */
export type Stores = (corner: Corner, k: number) => boolean;

/** Hops 0 to `hops − 1` lead from the module to the host; `peerHop` from a switch down to a peer. */
export function routeOf(
  c: Case,
  stream: Stream,
  hops: number,
  peerHop: number | undefined,
  stores: Stores,
): Crossing[] {
  const up = (from: number, to: number): Crossing[] =>
    range(from, to).map((hop) => ({
      hop,
      flipped: false,
      stored: (corner) => hop > 0 && stores(corner, hop - 1),
    }));
  if (stream.moved_by && stream.moved_by.value !== 'module') {
    // The processor asks from the top: its first hop is the one at the host.
    return up(0, hops)
      .reverse()
      .map(({ hop }) => ({
        hop,
        flipped: true,
        stored: (corner: Corner) => hop + 1 < hops && stores(corner, hop),
      }));
  }
  if (peerHop === undefined) return up(0, hops);
  const at = c.switches.findIndex((s) => s.id === stream.peer_at!.value);
  const turn = c.settings.peer_redirection?.value ? hops : at + 1;
  const down = range(at + 1, turn)
    .reverse()
    .map((hop) => ({ hop, flipped: true, stored: () => true }));
  return [
    ...up(0, turn),
    ...down,
    { hop: peerHop, flipped: true, stored: (corner) => stores(corner, at) },
  ];
}

/** Hops from the switch `at` upwards: what a neighbour below it shares. */
export function neighbourRoute(c: Case, at: string, hops: number): Crossing[] {
  const index = c.switches.findIndex((s) => s.id === at);
  return range(index + 1, hops).map((hop) => ({ hop, flipped: false, stored: () => false }));
}

function range(from: number, to: number): number[] {
  const found: number[] = [];
  for (let i = from; i < to; i++) found.push(i);
  return found;
}
