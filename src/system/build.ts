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
  const whole = wholePath(c, list, parameters);
  const built = pathRequests(c, list, whole, change).map((request) => ({
    name: `${request.lower.owner} to ${request.upper.owner}`,
    hop: hopBuilders.pcie.build(request),
  }));
  const peers = peerHops(c, list, (lower, upper) =>
    hopBuilders.pcie.build(hopRequest(whole, change, lower, upper)),
  );
  built.push(...peers.built);
  const tick = commonTick(built.map(({ hop }) => hop.tick));
  const hops: NetworkHop[] = built.map(({ name, hop }) => ({
    name,
    fabric: hop.fabric,
    configure: hop.configure,
    tick: hop.tick,
    scale: ceil(div(hop.tick, tick)),
    requestLimit: hop.requestLimit,
    bitsPerSecond: hop.bitsPerSecond,
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

/** Links of a case that no clause gives the numbers of, a sentence each. */
export function refusedLinks(c: Case): string[] {
  const list = pathNodes(c);
  const bridges = c.switches.filter((s) => s.bridge);
  if (bridges.length > 0) {
    return bridges.map(
      ({ id }) => `${id} is a bridge to a parallel bus: no PCI Express module is behind it`,
    );
  }
  const requests = pathRequests(c, list, wholePath(c, list, new Parameters()), {});
  return requests.flatMap((request) => hopBuilders.pcie.refuse(request) ?? []);
}

/** What the hops from the module to the host are built from, module side first. */
function pathRequests(
  c: Case,
  list: readonly PathNode[],
  whole: WholePath,
  change: Change,
): HopRequest[] {
  const wired = wiredLanes(c);
  return list.slice(1).map((upper, h) => {
    const { hop = h, ...everywhere } = change;
    const { maxPayload } = everywhere;
    const here = hop === h ? everywhere : maxPayload === undefined ? {} : { maxPayload };
    if (h === 0) return hopRequest(whole, here, list[h]!, upper, wired);
    // The case gives the reference clock of the module's link; boards behind it have their own.
    const { reference_clock: _, ...settings } = whole.settings;
    return hopRequest({ ...whole, settings }, here, list[h]!, upper);
  });
}

/** What is the same for every hop of a path. */
type WholePath = Required<
  Pick<HopRequest, 'completer' | 'bothWays' | 'channels' | 'settings' | 'maxPayload' | 'parameters'>
>;

function wholePath(c: Case, list: readonly PathNode[], parameters: Parameters): WholePath {
  const host = list.at(-1)!;
  const channels = c.streams.map((s) => s.virtual_channel?.value ?? 0).filter((v) => v > 0);
  return {
    completer: { owner: host.owner, pcie: host.facesModule },
    bothWays: c.streams.some(
      (s) => s.peer_at !== undefined || (s.moved_by?.value ?? 'module') !== 'module',
    ),
    channels: [...new Set(channels)],
    settings: c.settings,
    maxPayload: payloadLimit(c, list).bytes,
    parameters,
  };
}

function hopRequest(
  whole: WholePath,
  change: Change,
  lower: PathNode,
  upper: PathNode,
  wired?: number,
): HopRequest {
  const { completer, bothWays, channels, settings, parameters } = whole;
  return {
    lower: { owner: lower.owner, pcie: lower.facesHost, forwards: lower.forwards },
    upper: { owner: upper.owner, pcie: upper.facesModule, forwards: upper.forwards },
    completer,
    bothWays,
    channels,
    settings,
    maxPayload: change.maxPayload ?? whole.maxPayload,
    change,
    parameters,
    ...(wired === undefined ? {} : { wired }),
  };
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
      forwards: false,
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
