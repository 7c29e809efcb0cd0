/**
 * Closed form of one PCI Express link: what a stream's packets and their link-layer traffic take in each
 * direction, and what a round trip takes. Credits are in `credits.ts`, bit errors in `replay.ts`.
 */
import { gcdNumber, lcmNumber } from '../../numeric/gcd.ts';
import { unsupportedLink } from '../../standards/pcie-link.ts';
import type { Demand, Flow, ReadTrip, RequestClass } from '../fabric.ts';
import {
  arrivalWait,
  charge,
  family,
  fillTicks,
  noCharge,
  type Packet,
  packetTicks,
} from './charge.ts';
import type { PcieConfig, Receiver } from './config.ts';
import {
  barePacket,
  type Counted,
  completions,
  dataPacket,
  dataPackets,
  steeringPackets,
} from './packets.ts';

/** Why the standard gives no numbers for this link, or undefined: a text for people. */
export function unsupported(config: Pick<PcieConfig, 'generation' | 'width'>): string | undefined {
  return unsupportedLink(config.generation, config.width);
}

/**
 * What a cycle of a flow puts on the link.
 * @throws RangeError for a link that is `unsupported`
 */
export function demand(flow: Flow, config: PcieConfig, flipped = false): Demand {
  const refused = unsupported(config);
  if (refused !== undefined) throw new RangeError(refused);
  const data = dataPackets(flow, config);
  const steering = steeringPackets(flow, config);
  // Far receives what the requester sends, home what comes back to it.
  const { rootSide, moduleSide } = config;
  const far = flipped ? moduleSide : rootSide;
  const home = flipped ? rootSide : moduleSide;
  const transfers = transfersPerCycle(data, steering, far, home, config);
  const charges = { up: noCharge(), down: noCharge() };
  const wire = { up: 0, down: 0 };
  const received = { up: 0, down: 0 };
  const sent = { packets: 0, chunks: chunks(flow) * transfers, ticks: 0, fillTicks: 0 };
  let carriedTicks = 0;
  const put = ({ packet, direction, count, every }: Counted, isData: boolean) => {
    const times = (count * transfers) / every;
    const ticks = charge(charges[direction], packet, config, times);
    wire[direction] += ticks * times;
    received[direction] += times;
    if (!isData) return;
    if (packet.kind !== 'MRd') carriedTicks += ticks * times;
    if (direction === 'down') return;
    sent.packets += times;
    sent.fillTicks += fillTicks(ticks, config) * times;
  };
  for (const one of data) put(one, true);
  for (const one of steering) put(one, false);
  sent.ticks = wire.up;
  const linkFill = { up: 0, down: 0 };
  const linkGaps = { up: 0, down: 0 };
  for (const direction of ['up', 'down'] as const) {
    const from = direction === 'up' ? 'down' : 'up';
    const receiver = from === 'up' ? far : home;
    const updates = from === 'up' || (receiver.completionHeaders ?? infinite) !== infinite;
    const back = linkTraffic(charges[direction], receiver, received[from], updates, config);
    wire[direction] += back.ticks;
    // Of two that follow each other the second waits; a packet between them leaves nothing to fill.
    if (received[direction] === 0) linkFill[direction] = back.count * back.fillTicks;
    else linkGaps[direction] = Math.max(0, back.count - received[direction]) * back.fillTicks;
  }
  return {
    transfers,
    bytes: flow.transferBytes * transfers,
    charges,
    wire,
    sent,
    carriedTicks,
    linkFill,
    linkGaps,
  };
}

const infinite = Number.POSITIVE_INFINITY;

/** Fewest transfers after which Acks, credit updates and what steers the transfers come out whole. */
function transfersPerCycle(
  data: readonly Counted[],
  steering: readonly Counted[],
  far: Receiver,
  home: Receiver,
  config: PcieConfig,
): number {
  const group = steering.reduce((all, { every }) => lcmNumber(all, every), 1);
  if (family(config) === '1b1b') return group;
  const packets = { up: 0, down: 0 };
  for (const list of [data, steering]) {
    for (const { direction, count, every } of list) packets[direction] += (count * group) / every;
  }
  let cycle = 1;
  const whole = (count: number, per: number) => {
    if (count > 0 && per !== infinite) cycle = lcmNumber(cycle, per / gcdNumber(count, per));
  };
  whole(packets.up, far.packetsPerAck);
  whole(packets.up, far.packetsPerUpdate);
  whole(packets.down, home.packetsPerAck);
  if ((home.completionHeaders ?? infinite) !== infinite) {
    whole(packets.down, home.packetsPerUpdate);
  }
  return group * cycle;
}

function chunks(flow: Flow): number {
  return flow.chunkBytes === undefined ? 1 : Math.ceil(flow.transferBytes / flow.chunkBytes);
}

/**
 * Acks and credit updates that a receiver returns for packets received, charged to the opposite
 * direction. Completions consume no finite credit at an endpoint (SPEC 6.3 table 2-50), so what the
 * module receives is acknowledged but needs no update. Flits carry both in their own bytes.
 */
function linkTraffic(
  into: number[],
  receiver: Receiver,
  packets: number,
  updates: boolean,
  config: PcieConfig,
): { ticks: number; count: number; fillTicks: number } {
  if (packets === 0 || family(config) === '1b1b') return { ticks: 0, count: 0, fillTicks: 0 };
  const acks = packets / receiver.packetsPerAck;
  const renewed = updates ? packets / receiver.packetsPerUpdate : 0;
  const each = charge(into, linkPackets.Ack, config, acks);
  if (renewed > 0) charge(into, linkPackets.UpdateFC, config, renewed);
  // At most one may start in a symbol time (SPEC 6.3 §4.2.1.2, §4.2.2.3.2).
  const count = acks + renewed;
  return { ticks: each * count, count, fillTicks: fillTicks(each, config) };
}

function linkPacket(kind: 'Ack' | 'UpdateFC'): Packet {
  return { kind, wideAddress: false, payloadBytes: 0, paddingBytes: 0 };
}

const linkPackets = { Ack: linkPacket('Ack'), UpdateFC: linkPacket('UpdateFC') } as const;

/** What this link adds to the round trip of one read request. */
export function readTrip(request: RequestClass, flow: Flow, config: PcieConfig): ReadTrip {
  const wait = arrivalWait(config);
  const requestTicks = packetTicks(barePacket('MRd', flow), config) + wait;
  const { completionPayload } = config;
  const end = (request.offset + request.bytes) % completionPayload || completionPayload;
  const lastBytes = Math.min(end, request.bytes);
  let completionTicks = wait;
  for (const { bytes, lead, count } of completions(request.offset, request.bytes, config)) {
    completionTicks += packetTicks(dataPacket('CplD', flow, bytes, lead), config) * count;
  }
  const last: Packet = { ...dataPacket('CplD', flow, lastBytes, 0), paddingBytes: 0 };
  // Where hops act as one, the wait for a flit counts once.
  return { requestTicks, completionTicks, lastCompletionTicks: packetTicks(last, config) };
}

/** Charges summed, for checks: equals the wire time of the direction. */
export function chargeSum(charges: readonly number[]): number {
  return charges.reduce((sum, ticks) => sum + ticks, 0);
}
