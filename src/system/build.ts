/** From a case to a network: parts in order, hops between them, streams over them. */
import type { Assumption } from '../model/answer.ts';
import { gcd } from '../numeric/gcd.ts';
import { ceil, div, type Rational, rational } from '../quantity/index.ts';
import type { Case } from './case.ts';
import { moduleEngine } from './engine.ts';
import { engineStream, neighbourStream, processorStream } from './flows.ts';
import { ParameterReader } from './given-range.ts';
import type { BuiltHop, Change, HopRequest } from './hop.ts';
import { hopBuilders } from './hops.ts';
import type { Network, NetworkHop, NetworkStream } from './network.ts';
import { type PathNode, pathNodes, payloadLimit, unnamedHost, wiredLanes } from './nodes.ts';
import { Parameters } from './parameters.ts';
import { powerStates } from './power.ts';
import { processorOf } from './processor.ts';
import { readPath } from './read-path.ts';
import { neighbourRoute, routeOf } from './routes.ts';

/** A network, and what was decided on the way to it. */
export interface Built {
  readonly network: Network;
  readonly decided: readonly Assumption[];
}

/** Builds the network of a case, optionally with a change to say what that would bring. */
export function buildNetwork(c: Case, change: Change = {}): Built {
  const parameters = new Parameters();
  const list = pathNodes(c);
  const built: { name: string; hop: BuiltHop }[] = [];
  const request = (lower: PathNode, upper: PathNode, extra: Partial<HopRequest>): HopRequest => ({
    lower: { owner: lower.owner, pcie: lower.facesHost },
    upper: { owner: upper.owner, pcie: upper.facesModule },
    completer: { owner: list.at(-1)!.owner, pcie: list.at(-1)!.facesModule },
    settings: c.settings,
    maxPayload: change.maxPayload ?? payloadLimit(c).bytes,
    change,
    parameters,
    ...extra,
  });
  for (let h = 0; h + 1 < list.length; h++) {
    const wired = h === 0 ? wiredLanes(c) : undefined;
    const hop = hopBuilders.pcie(
      request(list[h]!, list[h + 1]!, wired === undefined ? {} : { wired }),
    );
    built.push({ name: `${list[h]!.owner} to ${list[h + 1]!.owner}`, hop });
  }
  const peers = peerHops(c, list, (lower, upper) => hopBuilders.pcie(request(lower, upper, {})));
  built.push(...peers.built);
  const tick = commonTick(built.map(({ hop }) => hop.tick));
  const hops: NetworkHop[] = built.map(({ name, hop }) => ({
    name,
    fabric: hop.fabric,
    configure: hop.configure,
    tick: hop.tick,
    scale: ceil(div(hop.tick, tick)),
    requestLimit: hop.requestLimit,
  }));
  const reader = new ParameterReader(parameters, built[0]!.hop.context);
  const streams = streamsOf(c, reader, hops, tick, list.length - 1, peers.hopAt);
  const network: Network = {
    hops,
    streams,
    parameters,
    tick,
    path: list.map((n) => n.owner),
    roundings: [...built.flatMap(({ hop }) => hop.roundings), ...reader.roundings],
  };
  return { network, decided: built.flatMap(({ hop }) => hop.decided) };
}

/** One more hop for each switch that has a peer below it; the peer's port is taken like the switch's. */
function peerHops(
  c: Case,
  list: readonly PathNode[],
  build: (lower: PathNode, upper: PathNode) => BuiltHop,
) {
  const built: { name: string; hop: BuiltHop }[] = [];
  const hopAt = new Map<string, number>();
  for (const stream of c.streams) {
    const at = stream.peer_at?.value;
    if (at === undefined || hopAt.has(at)) continue;
    const above = list.find((n) => n.owner === at)!;
    const peer = {
      owner: `peer below ${at}`,
      facesModule: above.facesModule,
      facesHost: above.facesModule,
    };
    hopAt.set(at, list.length - 1 + built.length);
    built.push({ name: `${peer.owner} to ${at}`, hop: build(peer, above) });
  }
  return { built, hopAt };
}

function streamsOf(
  c: Case,
  reader: ParameterReader,
  hops: readonly NetworkHop[],
  tick: Rational,
  pathHops: number,
  peerAt: ReadonlyMap<string, number>,
): NetworkStream[] {
  const host = c.host?.id ?? unnamedHost;
  const first = hops[0]!;
  const path = readPath(c, reader, first, host);
  const engine = moduleEngine(c, reader, first, path, powerStates(c, reader, first));
  const byProcessor = c.streams.some((s) => (s.moved_by?.value ?? 'module') !== 'module');
  const processor = byProcessor
    ? processorOf(c, reader, hops[pathHops - 1]!, host, path)
    : undefined;
  const own = c.streams.map((stream) => {
    const peer = stream.peer_at ? peerAt.get(stream.peer_at.value) : undefined;
    const crossings = routeOf(c, stream, pathHops, peer, path.stores);
    const moved = (stream.moved_by?.value ?? 'module') === 'module';
    return moved || !processor
      ? engineStream(c, stream, reader, hops, crossings, engine, tick)
      : processorStream(c, stream, reader, hops, crossings, processor, tick);
  });
  const others = c.neighbours.map((neighbour) =>
    neighbourStream(neighbour, neighbourRoute(c, neighbour.at.value, pathHops), first.scale),
  );
  return [...own, ...others];
}

/** The largest tick of which all are whole multiples. */
function commonTick(ticks: readonly Rational[]): Rational {
  return ticks.reduce((a, b) => {
    const n = gcd(a.n * b.d, b.n * a.d);
    return rational(n, a.d * b.d);
  });
}
