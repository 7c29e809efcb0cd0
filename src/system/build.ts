/** From a case to a network: nodes in order, hops between them, parameters collected once. */
import type { Flow } from '../links/fabric.ts';
import type { Assumption } from '../model/answer.ts';
import { gcd } from '../numeric/gcd.ts';
import { bytes, ceil, div, type Rational, rational } from '../quantity/index.ts';
import type { Case, Stream } from './case.ts';
import { ParameterReader, smaller } from './given-range.ts';
import type { BuiltHop, Change } from './hop.ts';
import { hopBuilders } from './hops.ts';
import type { Network, NetworkHop, NetworkStream } from './network.ts';
import { type Corner, Parameters } from './parameters.ts';
import type { PcieFunction } from './parts.ts';

/** A network, and what was decided on the way to it. */
export interface Built {
  readonly network: Network;
  readonly decided: readonly Assumption[];
}

/** Payload limit of the path in bytes, and whose it is. */
export interface PayloadLimit {
  readonly bytes: number;
  readonly owner: string;
}

/** Smallest Max_Payload_Size of everything on the path; 128 B where nothing says. */
export function payloadLimit(c: Case): PayloadLimit {
  const limits = nodes(c).flatMap(({ owner, facesModule: port }) =>
    port ? [{ bytes: bytes(port.Max_Payload_Size.value), owner }] : [],
  );
  const set = c.settings.Max_Payload_Size;
  if (set) limits.push({ bytes: bytes(set.value), owner: 'the setting in the case' });
  if (!c.host) limits.push({ bytes: 128, owner: 'the unnamed host, taken at the least' });
  return limits.reduce((a, b) => (b.bytes < a.bytes ? b : a));
}

/** True when the case has what a rating needs: a PCI Express function on the module. */
export function canRate(c: Case): boolean {
  return c.module.pcie !== undefined && c.streams.length > 0;
}

/** A part on the path: its port that faces the module, and the one that faces the host. */
interface PathNode {
  readonly owner: string;
  readonly facesModule: PcieFunction | undefined;
  readonly facesHost: PcieFunction | undefined;
}

/** Parts of the path, module first, each with the name the answer uses. */
function nodes(c: Case): PathNode[] {
  const one = (owner: string, port: PcieFunction | undefined): PathNode => ({
    owner,
    facesModule: port,
    facesHost: port,
  });
  return [
    one(c.module.id, c.module.pcie),
    ...c.switches.map((s) => ({
      owner: s.id,
      facesModule: s.pcie,
      facesHost: s.upstream ? { ...s.pcie, ...s.upstream } : s.pcie,
    })),
    one(c.host?.id ?? unnamedHost, c.host?.pcie),
  ];
}

const unnamedHost = 'unnamed host';

/** Builds the network of a case, optionally with a change to say what that would bring. */
export function buildNetwork(c: Case, change: Change = {}): Built {
  const parameters = new Parameters();
  const list = nodes(c);
  const maxPayload = change.maxPayload ?? payloadLimit(c).bytes;
  const built: BuiltHop[] = [];
  for (let h = 0; h + 1 < list.length; h++) {
    const wired = h === 0 ? wiredLanes(c) : undefined;
    built.push(
      hopBuilders.pcie({
        lower: { owner: list[h]!.owner, pcie: list[h]!.facesHost },
        upper: { owner: list[h + 1]!.owner, pcie: list[h + 1]!.facesModule },
        completer: { owner: list.at(-1)!.owner, pcie: list.at(-1)!.facesModule },
        ...(wired === undefined ? {} : { wired }),
        settings: c.settings,
        maxPayload,
        change,
        parameters,
      }),
    );
  }
  const tick = commonTick(built.map((b) => b.tick));
  const hops: NetworkHop[] = built.map((b, h) => ({
    name: `${list[h]!.owner} to ${list[h + 1]!.owner}`,
    fabric: b.fabric,
    configure: b.configure,
    tick: b.tick,
    scale: ceil(div(b.tick, tick)),
    requestLimit: b.requestLimit,
  }));
  const reader = new ParameterReader(parameters, built[0]!.context);
  const rest = endpoints(c, change, reader, hops);
  const network: Network = {
    hops,
    ...rest,
    parameters,
    tick,
    path: list.map((n) => n.owner),
    roundings: [...built.flatMap((b) => b.roundings), ...reader.roundings],
  };
  return { network, decided: built.flatMap((b) => b.decided) };
}

/** Lanes the carrier wires to the module's link; two connectors where the module is sixteen wide. */
function wiredLanes(c: Case): number | undefined {
  const site = c.carrier?.site;
  if (!site) return undefined;
  const lanesOf = (id: 'P15' | 'P16') => {
    const connector = site.connectors[id];
    return connector?.carries.value === 'PCI Express' ? (connector.lanes?.value ?? 0) : 0;
  };
  const wide = c.module.pcie?.width.value === 16;
  const wired = lanesOf('P15') + (wide ? lanesOf('P16') : 0);
  return wired === 0 ? undefined : wired;
}

/** Engine, read latency and streams: everything that is not a hop. */
function endpoints(
  c: Case,
  change: Change,
  reader: ParameterReader,
  hops: readonly NetworkHop[],
): Pick<Network, 'streams' | 'pauses' | 'outstanding' | 'readLatency'> {
  const module = c.module.id;
  const dma = c.module.dma;
  const { tick, scale } = hops[0]!;
  const lowers = (id: 'gap_per_packet' | 'gap_per_chunk' | 'setup_per_transfer') =>
    ({ owner: module, id, effect: 'lowers' }) as const;
  const gap = reader.time(lowers('gap_per_packet'), dma?.gap_per_packet, tick);
  const setup = reader.time(lowers('setup_per_transfer'), dma?.setup_per_transfer, tick);
  const chunkGap = reader.time(lowers('gap_per_chunk'), dma?.gap_per_chunk, tick);
  const changedGap = change.gapSeconds ? Number(ceil(div(change.gapSeconds, tick))) : undefined;
  const outstanding = reader.whole(
    { owner: module, id: 'outstanding_requests', effect: 'raises' },
    dma?.outstanding_requests,
  );
  const host = c.host?.id ?? unnamedHost;
  const latency = reader.time(
    { owner: host, id: 'read_latency', effect: 'lowers' },
    c.host?.pcie.read_latency,
    tick,
  );
  const through = c.switches.map((s) =>
    reader.time({ owner: s.id, id: 'switch_latency', effect: 'lowers' }, s.latency, tick),
  );
  const streams = c.streams.map((stream) => streamFlow(c, stream, reader, hops));
  return {
    streams,
    pauses: (corner: Corner) => ({
      perPacket: changedGap ?? corner[gap]!,
      perChunk: corner[chunkGap]!,
      perTransfer: corner[setup]!,
    }),
    outstanding: (corner: Corner) => corner[outstanding]!,
    readLatency: (corner: Corner) => {
      const switches = through.reduce((sum, at) => sum + 2 * corner[at]!, 0);
      return BigInt(corner[latency]! + switches) * scale;
    },
  };
}

function streamFlow(
  c: Case,
  stream: Stream,
  reader: ParameterReader,
  hops: readonly NetworkHop[],
): NetworkStream {
  const owner = `stream ${stream.name}`;
  const { transfer } = stream;
  const dma = c.module.dma;
  const size = reader.whole({ owner, id: 'transfer_size', effect: 'depends' }, transfer?.size);
  const offset = reader.whole(
    { owner, id: 'start_offset', effect: 'depends' },
    transfer?.start_offset,
  );
  const buffer = transfer?.buffer;
  const wide = reader.flag(
    { owner, id: 'address_above_4_gib', effect: 'lowers' },
    buffer ? { ...buffer, value: buffer.value === 'above 4 GiB' } : undefined,
  );
  const interrupts = reader.whole(
    { owner, id: 'transfers_per_interrupt', effect: 'depends' },
    dma?.transfers_per_interrupt,
  );
  const limit = Math.min(...hops.map((h) => h.requestLimit));
  const request = reader.whole(
    { owner, id: 'request_size', effect: 'depends' },
    smaller(dma?.request_size, c.settings.Max_Read_Request_Size),
    { low: 64, expected: limit, high: limit },
  );
  const chunkBytes = dma?.chunk ? bytes(dma.chunk.value) : undefined;
  const kind = stream.direction.value === 'to host' ? 'write' : 'read';
  return {
    stream,
    flow: (corner: Corner): Flow => ({
      stream: stream.name,
      kind,
      transferBytes: corner[size]!,
      startOffset: corner[offset]!,
      wideAddress: corner[wide] === 1,
      ...(chunkBytes === undefined ? {} : { chunkBytes }),
      requestBytes: corner[request]!,
      transfersPerInterrupt: corner[interrupts]!,
    }),
  };
}

/** The largest tick of which all are whole multiples. */
function commonTick(ticks: readonly Rational[]): Rational {
  return ticks.reduce((a, b) => {
    const n = gcd(a.n * b.d, b.n * a.d);
    return rational(n, a.d * b.d);
  });
}
