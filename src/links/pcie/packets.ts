/**
 * The packets of a flow: what one transfer is cut into, and what steers it. Cutting is `split.ts`, sizes
 * are the layouts; this says which packets there are and how often.
 */
import type { Direction } from '../../model/answer.ts';
import { gcdNumber } from '../../numeric/gcd.ts';
import type { DescriptorTraffic, Flow, RequestClass } from '../fabric.ts';
import type { Packet } from './charge.ts';
import type { PcieConfig } from './config.ts';
import {
  countPieces,
  ownSteps,
  type Pieces,
  paddedBytes,
  pageBytes,
  type SplitRule,
} from './split.ts';

/** Packets that a flow sends: `count` of them in every `every` transfers. */
export interface Counted {
  readonly packet: Packet;
  readonly direction: Direction;
  readonly count: number;
  readonly every: number;
}

/** Pieces of one transfer that a flow's packets carry: its writes, or its completions. */
export function carriers(flow: Flow, config: PcieConfig): Pieces[] {
  if (flow.kind === 'write') {
    return countPieces(flow.startOffset, flow.transferBytes, writeRule(flow, config));
  }
  const found: Pieces[] = [];
  for (const request of requests(flow, config)) {
    for (const piece of completions(request.offset, request.bytes, config)) {
      const alike = found.find((p) => p.bytes === piece.bytes && p.lead === piece.lead);
      if (alike) alike.count += piece.count * request.count;
      else found.push({ ...piece, count: piece.count * request.count });
    }
  }
  return found;
}

/** A requester that writes in units of its own, such as stores, keeps to their natural boundaries. */
function writeRule(flow: Flow, config: PcieConfig): SplitRule {
  const unit = flow.writeBytes ?? pageBytes;
  const natural = (unit & (unit - 1)) === 0;
  return {
    longest: Math.min(config.maxPayload, unit),
    boundary: natural ? Math.min(unit, pageBytes) : pageBytes,
    steps: steps(flow),
  };
}

/** Steps of the transfer: the engine's chunks, and the spans of its descriptors. */
function steps(flow: Flow): readonly number[] {
  const { chunkBytes, descriptors } = flow;
  if (chunkBytes === undefined && descriptors === undefined) return noSteps;
  return ownSteps(chunkBytes, descriptors?.covers);
}

const noSteps: readonly number[] = [];

/** Completions of one read, cut at natural boundaries of their longest payload. */
export function completions(offset: number, bytes: number, config: PcieConfig): Pieces[] {
  const { completionPayload } = config;
  return countPieces(offset, bytes, { longest: completionPayload, boundary: completionPayload });
}

/** Read requests of one transfer, alike when their completions are. */
export function requests(flow: Flow, config: PcieConfig): RequestClass[] {
  const rule = { longest: flow.requestBytes, boundary: pageBytes, steps: steps(flow) };
  return countPieces(flow.startOffset, flow.transferBytes, rule, config.completionPayload).map(
    ({ bytes, lead, count }) => ({ offset: lead, bytes, count }),
  );
}

/** Whether a packet carries a stream's payload, by where it stands. */
export type Carrier = 'MWr' | 'CplD';

/** A packet with payload, the double words of its ends filled. */
export function dataPacket(kind: Carrier, flow: Flow, bytes: number, lead: number): Packet {
  return {
    kind,
    wideAddress: flow.wideAddress,
    payloadBytes: bytes,
    paddingBytes: paddedBytes(bytes, lead) - bytes,
    prefixes: flow.prefixes ?? 0,
  };
}

/** A packet without a stream's payload. */
export function barePacket(kind: 'MRd' | 'MsiWrite', flow: Flow): Packet {
  const { wideAddress, prefixes = 0 } = flow;
  return { kind, wideAddress, payloadBytes: 0, paddingBytes: 0, prefixes };
}

/** Packets of one transfer's data: its writes, or its requests and their completions. */
export function dataPackets(flow: Flow, config: PcieConfig): Counted[] {
  const write = flow.kind === 'write';
  const kind = write ? 'MWr' : 'CplD';
  const direction = write ? 'up' : 'down';
  const list: Counted[] = carriers(flow, config).map(({ bytes, lead, count }) => ({
    packet: dataPacket(kind, flow, bytes, lead),
    direction,
    count,
    every: 1,
  }));
  if (!write) {
    const count = requests(flow, config).reduce((sum, r) => sum + r.count, 0);
    list.push({ packet: barePacket('MRd', flow), direction: 'up', count, every: 1 });
  }
  return list;
}

/** Packets that steer the transfers: interrupts, fetched descriptors, descriptors written back. */
export function steeringPackets(flow: Flow, config: PcieConfig): Counted[] {
  const list: Counted[] = [];
  const each = flow.transfersPerInterrupt;
  if (each > 0) {
    list.push({ packet: barePacket('MsiWrite', flow), direction: 'up', count: 1, every: each });
  }
  if (flow.descriptors) list.push(...descriptorPackets(flow.descriptors, flow, config));
  return list;
}

function descriptorPackets(ring: DescriptorTraffic, flow: Flow, config: PcieConfig): Counted[] {
  const descriptors = Math.ceil(flow.transferBytes / ring.covers);
  const { fetchBatch, writeBackBatch } = ring;
  const fetched = fetchBatch * ring.bytes;
  const fetches = batches(descriptors, fetchBatch);
  const rule = { longest: flow.requestBytes, boundary: pageBytes };
  const asked = countPieces(0, fetched, rule, config.completionPayload);
  const requests = asked.reduce((sum, { count }) => sum + count, 0);
  const whole = 'descriptors';
  const ask = { ...barePacket('MRd', flow), whole } as const;
  const list: Counted[] = [
    { packet: ask, direction: 'up', count: requests * fetches.count, every: fetches.every },
  ];
  for (const request of asked) {
    for (const { bytes, lead, count } of completions(request.lead, request.bytes, config)) {
      const packet = { ...dataPacket('CplD', flow, bytes, lead), whole } as const;
      const all = count * request.count * fetches.count;
      list.push({ packet, direction: 'down', count: all, every: fetches.every });
    }
  }
  if (ring.writeBackBytes === 0) return list;
  const backs = batches(descriptors, writeBackBatch);
  const backRule = { longest: config.maxPayload, boundary: pageBytes };
  for (const piece of countPieces(0, ring.writeBackBytes * writeBackBatch, backRule)) {
    const packet = { ...dataPacket('MWr', flow, piece.bytes, piece.lead), whole } as const;
    const count = piece.count * backs.count;
    list.push({ packet, direction: 'up', count, every: backs.every });
  }
  return list;
}

/** So many batches in every so many transfers, when each transfer takes `descriptors`. */
function batches(descriptors: number, batch: number): { count: number; every: number } {
  const common = gcdNumber(descriptors, batch);
  return { count: descriptors / common, every: batch / common };
}
