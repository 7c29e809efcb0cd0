/**
 * Closed form of one PCI Express link, generations 1 to 5, non-flit mode: what a stream's packets and
 * their link-layer traffic take in each direction, and what credits and round trips allow.
 *
 * Limits of the model: packets follow each other without lane-alignment fill; SKP ordered sets fill
 * an engine's gap where there is one; no bit errors, no power states; credits return after a fixed
 * time. What a term leaves out is at most one SKP set per interval (0.34 %) and the fill to a symbol
 * time on links of eight lanes and more.
 */
import type { Direction } from '../../model/answer.ts';
import { gcdNumber, lcmNumber } from '../../numeric/gcd.ts';
import type { Demand, Flow, ReadTrip, RequestClass, WindowLimit } from '../fabric.ts';
import { charge, noCharge, type Packet } from './charge.ts';
import type { PcieConfig, Receiver } from './config.ts';
import { countPieces, type Pieces, paddedBytes, pageBytes } from './split.ts';

/** Bytes of one data credit: four double words (SPEC 6.3 §2.6.1). */
export const dataCreditBytes = 16;

interface Counted {
  readonly packet: Packet;
  readonly direction: Direction;
  /** Packets a transfer. */
  count: number;
}

/** Pieces of one transfer that a flow's packets carry: its writes, or its completions. */
export function carriers(flow: Flow, config: PcieConfig): Pieces[] {
  if (flow.kind === 'write') {
    return countPieces(flow.startOffset, flow.transferBytes, {
      longest: config.maxPayload,
      boundary: pageBytes,
      ...(flow.chunkBytes === undefined ? {} : { step: flow.chunkBytes }),
    });
  }
  const found: Pieces[] = [];
  for (const request of requests(flow, config)) {
    const rule = { longest: config.completionPayload, boundary: config.completionPayload };
    for (const piece of countPieces(request.offset, request.bytes, rule)) {
      const alike = found.find((p) => p.bytes === piece.bytes && p.lead === piece.lead);
      if (alike) alike.count += piece.count * request.count;
      else found.push({ ...piece, count: piece.count * request.count });
    }
  }
  return found;
}

/** Read requests of one transfer, alike when their completions are. */
export function requests(flow: Flow, config: PcieConfig): RequestClass[] {
  const rule = {
    longest: flow.requestBytes,
    boundary: pageBytes,
    ...(flow.chunkBytes === undefined ? {} : { step: flow.chunkBytes }),
  };
  const modulus = config.completionPayload;
  return countPieces(flow.startOffset, flow.transferBytes, rule, modulus).map(
    ({ bytes, lead, count }) => ({ offset: lead, bytes, count }),
  );
}

/** Transaction layer packets of one transfer, by kind and direction. */
function packetsOf(flow: Flow, config: PcieConfig): Counted[] {
  const { wideAddress } = flow;
  const kind = flow.kind === 'write' ? 'MWr' : 'CplD';
  const direction = flow.kind === 'write' ? 'up' : 'down';
  const list: Counted[] = carriers(flow, config).map(({ bytes, lead, count }) => ({
    packet: {
      kind,
      wideAddress,
      payloadBytes: bytes,
      paddingBytes: paddedBytes(bytes, lead) - bytes,
    },
    direction,
    count,
  }));
  if (flow.kind === 'read') {
    const count = requests(flow, config).reduce((sum, r) => sum + r.count, 0);
    const packet: Packet = { kind: 'MRd', wideAddress, payloadBytes: 0, paddingBytes: 0 };
    list.push({ packet, direction: 'up', count });
  }
  return list;
}

/** Fewest transfers after which Acks, credit updates and interrupts come out whole. */
function transfersPerCycle(flow: Flow, up: number, down: number, config: PcieConfig): number {
  const each = flow.transfersPerInterrupt;
  let cycle = Math.max(1, each);
  const whole = (perTransfer: number, per: number) => {
    if (perTransfer === 0 || per === Number.POSITIVE_INFINITY) return;
    // The interrupt adds one packet every `each` transfers to what travels up.
    cycle = lcmNumber(cycle, per / gcdNumber(perTransfer, per));
  };
  const upPer = (per: number) => {
    if (each === 0) return whole(up, per);
    const group = up * each + 1;
    cycle = lcmNumber(cycle, each * (per / gcdNumber(group, per)));
  };
  upPer(config.rootSide.packetsPerAck);
  if (config.rootSide.packetsPerUpdate !== Number.POSITIVE_INFINITY) {
    upPer(config.rootSide.packetsPerUpdate);
  }
  whole(down, config.moduleSide.packetsPerAck);
  return cycle;
}

/** What a cycle of a flow puts on the link. */
export function demand(flow: Flow, config: PcieConfig): Demand {
  const list = packetsOf(flow, config);
  const count = (direction: Direction) =>
    list.reduce((sum, c) => sum + (c.direction === direction ? c.count : 0), 0);
  const up = count('up');
  const down = count('down');
  const transfers = transfersPerCycle(flow, up, down, config);
  const charges = { up: noCharge(), down: noCharge() };
  const sums = { up: 0, down: 0 };
  let carriedTicks = 0;
  for (const { packet, direction, count: each } of list) {
    const times = each * transfers;
    const ticks = charge(charges[direction], packet, config, times) * times;
    sums[direction] += ticks;
    if (packet.kind !== 'MRd') carriedTicks += ticks;
  }
  const interrupts = flow.transfersPerInterrupt === 0 ? 0 : transfers / flow.transfersPerInterrupt;
  sums.up += linkPacket(charges.up, 'MsiWrite', flow, config, interrupts);
  const sent = { packets: up * transfers, chunks: chunks(flow) * transfers, ticks: sums.up };
  const received = { up: up * transfers + interrupts, down: down * transfers };
  sums.down += linkTraffic(charges.down, config.rootSide, received.up, true, flow, config);
  sums.up += linkTraffic(charges.up, config.moduleSide, received.down, false, flow, config);
  return {
    transfers,
    bytes: flow.transferBytes * transfers,
    charges,
    wire: sums,
    sent,
    carriedTicks,
  };
}

function chunks(flow: Flow): number {
  return flow.chunkBytes === undefined ? 1 : Math.ceil(flow.transferBytes / flow.chunkBytes);
}

/**
 * Acks and credit updates that a receiver returns for packets received, charged to the opposite
 * direction. Completions consume no finite credit at an endpoint (SPEC 6.3 table 2-50), so what the
 * module receives is acknowledged but needs no update.
 */
function linkTraffic(
  into: number[],
  receiver: Receiver,
  packets: number,
  updates: boolean,
  flow: Flow,
  config: PcieConfig,
): number {
  let ticks = linkPacket(into, 'Ack', flow, config, packets / receiver.packetsPerAck);
  if (updates && receiver.packetsPerUpdate !== Number.POSITIVE_INFINITY) {
    const count = packets / receiver.packetsPerUpdate;
    ticks += linkPacket(into, 'UpdateFC', flow, config, count);
  }
  return ticks;
}

function linkPacket(
  into: number[],
  kind: 'Ack' | 'UpdateFC' | 'MsiWrite',
  flow: Flow,
  config: PcieConfig,
  count: number,
): number {
  if (count === 0) return 0;
  const packet = { kind, wideAddress: flow.wideAddress, payloadBytes: 0, paddingBytes: 0 };
  return charge(into, packet, config, count) * count;
}

/**
 * Credit windows. A credit is held from the start of its packet until the packet has arrived whole
 * and the credit has come back; with K packets allowed in flight n packets take at least
 * n × hold / K. Data credits count in whole packets where all packets are alike (SPEC 6.3 §2.6.1:
 * credits are never shared between packets).
 *
 * @throws RangeError when a receiver grants less than one packet: nothing would ever be sent
 */
export function limits(flow: Flow, config: PcieConfig): WindowLimit[] {
  const { rootSide } = config;
  const hold = (packet: Packet) => charge(scratch, packet, config, 0) + rootSide.creditReturnTicks;
  const scratch = noCharge();
  const { wideAddress } = flow;
  if (flow.kind === 'read') {
    const count = requests(flow, config).reduce((sum, r) => sum + r.count, 0);
    const ticks = hold({ kind: 'MRd', wideAddress, payloadBytes: 0, paddingBytes: 0 });
    return windows('nonposted_headers', rootSide.nonpostedHeaders, [{ count, units: 1, ticks }]);
  }
  const writes = carriers(flow, config).map(({ bytes, lead, count }) => {
    const padded = paddedBytes(bytes, lead);
    const packet: Packet = {
      kind: 'MWr',
      wideAddress,
      payloadBytes: bytes,
      paddingBytes: padded - bytes,
    };
    return { count, units: Math.ceil(padded / dataCreditBytes), ticks: hold(packet) };
  });
  const unit = writes.reduce((g, w) => gcdNumber(g, w.units), 0);
  const largest = writes.reduce((m, w) => Math.max(m, w.units), 0);
  const data = rootSide.postedData;
  if (data < largest) {
    throw new RangeError(`${data} posted data credits cannot hold one packet of ${largest} units`);
  }
  return [
    ...windows(
      'posted_headers',
      rootSide.postedHeaders,
      writes.map((w) => ({ ...w, units: 1 })),
    ),
    ...windows(
      'posted_data',
      data === Number.POSITIVE_INFINITY ? data : Math.floor(data / unit) * unit,
      writes,
    ),
  ];
}

const creditNames = {
  posted_headers: 'posted header credits',
  posted_data: 'posted data credits of 16 B',
  nonposted_headers: 'non-posted header credits',
} as const;

function windows(
  id: keyof typeof creditNames,
  window: number,
  held: readonly Held[],
): WindowLimit[] {
  if (window === Number.POSITIVE_INFINITY) return [];
  const ticks = held.reduce((sum, h) => sum + h.count * h.units * h.ticks, 0);
  const cause = `all ${window} ${creditNames[id]} are out`;
  return [{ id, account: 'credit_stall', direction: 'up', ticks, window, cause }];
}

interface Held {
  readonly count: number;
  readonly units: number;
  readonly ticks: number;
}

/** What this link adds to the round trip of one read request. */
export function readTrip(request: RequestClass, flow: Flow, config: PcieConfig): ReadTrip {
  const scratch = noCharge();
  const { wideAddress } = flow;
  const ask: Packet = { kind: 'MRd', wideAddress, payloadBytes: 0, paddingBytes: 0 };
  const requestTicks = charge(scratch, ask, config, 1);
  const rule = { longest: config.completionPayload, boundary: config.completionPayload };
  const end =
    (request.offset + request.bytes) % config.completionPayload || config.completionPayload;
  const lastBytes = Math.min(end, request.bytes);
  let completionTicks = 0;
  for (const { bytes, lead, count } of countPieces(request.offset, request.bytes, rule)) {
    const paddingBytes = paddedBytes(bytes, lead) - bytes;
    const completion: Packet = { kind: 'CplD', wideAddress, payloadBytes: bytes, paddingBytes };
    const ticks = charge(scratch, completion, config, count);
    completionTicks += ticks * count;
  }
  const last = { kind: 'CplD', wideAddress, payloadBytes: lastBytes, paddingBytes: 0 } as const;
  const lastCompletionTicks = charge(scratch, last, config, 1);
  return { requestTicks, completionTicks, lastCompletionTicks };
}

/** Charges summed, for checks: equals the wire time of the direction. */
export function chargeSum(charges: readonly number[]): number {
  return charges.reduce((sum, ticks) => sum + ticks, 0);
}
