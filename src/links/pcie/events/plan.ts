/**
 * The packets of a flow in the order in which its requester sends them, one by one, and what a link has
 * to know of each. Cutting is `pieces()` of the splitter, sizes come from the layouts.
 */
import { lcmNumber } from '../../../numeric/gcd.ts';
import type { Described, PacketFacts, PlannedPacket } from '../../events.ts';
import type { DescriptorTraffic, Flow } from '../../fabric.ts';
import { charge, fillTicks, noCharge, type Packet } from '../charge.ts';
import type { PcieConfig } from '../config.ts';
import { dataCreditBytes } from '../credits.ts';
import { barePacket, dataPacket } from '../packets.ts';
import { ownSteps, pageBytes, pieces, type SplitRule } from '../split.ts';

/** A packet and the virtual channel it travels on. */
interface OnChannel {
  readonly packet: Packet;
  readonly channel: number;
}

/** Transfers after which interrupts and descriptor batches come out whole. */
function transfersPlanned(flow: Flow): number {
  const { descriptors: ring, transfersPerInterrupt: each } = flow;
  let cycle = Math.max(1, each);
  if (!ring) return cycle;
  const steps = Math.ceil(flow.transferBytes / ring.covers);
  for (const batch of [ring.fetchBatch, ring.writeBackBytes > 0 ? ring.writeBackBatch : 1]) {
    cycle = lcmNumber(cycle, lcmNumber(steps, batch) / steps);
  }
  return cycle;
}

/** Packets of `transfersPlanned` transfers. */
export function* plan(flow: Flow, config: PcieConfig): Generator<PlannedPacket> {
  const transfers = transfersPlanned(flow);
  const steering = new Steering(flow, config);
  for (let transfer = 1; transfer <= transfers; transfer++) {
    let waiting: PlannedPacket | undefined;
    for (const packet of oneTransfer(flow, config, steering, transfer)) {
      if (waiting) yield waiting;
      waiting = packet;
    }
    yield { ...waiting!, endsTransfer: true };
  }
}

function* oneTransfer(
  flow: Flow,
  config: PcieConfig,
  steering: Steering,
  transfer: number,
): Generator<PlannedPacket> {
  const { transferBytes, chunkBytes = transferBytes, startOffset } = flow;
  const covers = flow.descriptors?.covers ?? transferBytes;
  for (const piece of pieces(startOffset, transferBytes, ruleOf(flow, config))) {
    const done = piece.offset - startOffset;
    const after = done + piece.bytes;
    const ends = after === transferBytes;
    if (done % covers === 0) yield* steering.begin();
    yield {
      ...dataOf(flow, config, piece),
      endsChunk: ends || after % chunkBytes === 0,
      endsData: ends,
    };
    if (ends || after % covers === 0) yield* steering.end();
  }
  const { transfersPerInterrupt: each } = flow;
  if (each > 0 && transfer % each === 0) yield steer(barePacket('MsiWrite', flow), flow);
}

function ruleOf(flow: Flow, config: PcieConfig): SplitRule {
  const steps = ownSteps(flow.chunkBytes, flow.descriptors?.covers);
  if (flow.kind === 'read') return { longest: flow.requestBytes, boundary: pageBytes, steps };
  // Stores come in units of their own that keep to their natural boundaries.
  const unit = flow.writeBytes ?? pageBytes;
  const natural = (unit & (unit - 1)) === 0;
  const boundary = natural ? Math.min(unit, pageBytes) : pageBytes;
  return { longest: Math.min(config.maxPayload, unit), boundary, steps };
}

const within = { endsChunk: false, endsData: false, endsTransfer: false } as const;

function dataOf(
  flow: Flow,
  config: PcieConfig,
  { offset, bytes }: { offset: number; bytes: number },
): PlannedPacket {
  if (flow.kind === 'write') {
    const packet = dataPacket('MWr', flow, bytes, offset % 4);
    return { ...within, described: on(packet, flow), role: 'data', bytes, answers: [] };
  }
  const answers = answersOf(flow, config, offset, bytes, true);
  return {
    ...within,
    described: on(barePacket('MRd', flow), flow),
    role: 'request',
    bytes,
    answers,
  };
}

/** Completions of one request, cut at natural boundaries of their longest payload. */
function answersOf(flow: Flow, config: PcieConfig, offset: number, bytes: number, data: boolean) {
  const { completionPayload } = config;
  const rule = { longest: completionPayload, boundary: completionPayload };
  return [...pieces(offset, bytes, rule)].map((piece) => {
    const packet = dataPacket('CplD', flow, piece.bytes, piece.offset % 4);
    const whole: Packet = data ? packet : { ...packet, whole: 'descriptors' };
    return { described: on(whole, flow), bytes: data ? piece.bytes : 0 };
  });
}

function on(packet: Packet, flow: Flow): OnChannel {
  return { packet, channel: flow.virtualChannel ?? 0 };
}

function steer(packet: Packet, flow: Flow): PlannedPacket {
  return { ...within, described: on(packet, flow), role: 'steering', bytes: 0, answers: [] };
}

/** Descriptors as they are used up: fetched in batches before they are needed, written back after. */
class Steering {
  readonly #flow: Flow;
  readonly #config: PcieConfig;
  readonly #ring: DescriptorTraffic | undefined;
  #begun = 0;
  #ended = 0;

  constructor(flow: Flow, config: PcieConfig) {
    this.#flow = flow;
    this.#config = config;
    this.#ring = flow.descriptors;
  }

  *begin(): Generator<PlannedPacket> {
    const ring = this.#ring;
    if (!ring || this.#begun++ % ring.fetchBatch !== 0) return;
    const flow = this.#flow;
    const rule = { longest: flow.requestBytes, boundary: pageBytes };
    const packet: Packet = { ...barePacket('MRd', flow), whole: 'descriptors' };
    for (const { offset, bytes } of pieces(0, ring.bytes * ring.fetchBatch, rule)) {
      const answers = answersOf(flow, this.#config, offset, bytes, false);
      yield { ...within, described: on(packet, flow), role: 'fetch', bytes: 0, answers };
    }
  }

  *end(): Generator<PlannedPacket> {
    const ring = this.#ring;
    if (!ring || ring.writeBackBytes === 0 || ++this.#ended % ring.writeBackBatch !== 0) return;
    const rule = { longest: this.#config.maxPayload, boundary: pageBytes };
    for (const { offset, bytes } of pieces(0, ring.writeBackBytes * ring.writeBackBatch, rule)) {
      const packet = dataPacket('MWr', this.#flow, bytes, offset % 4);
      yield steer({ ...packet, whole: 'descriptors' }, this.#flow);
    }
  }
}

const creditOf = { MWr: 0, MsiWrite: 0, MRd: 1, CplD: 2 } as const;

/** What a link has to know of a packet; ticks are those of the link's own configuration. */
export function facts(described: Described, config: PcieConfig): PacketFacts {
  const { packet, channel } = described as OnChannel;
  const charges = noCharge();
  const ticks = charge(charges, packet, config, 1);
  const kind = packet.kind as keyof typeof creditOf;
  const payload = packet.payloadBytes + packet.paddingBytes + (kind === 'MsiWrite' ? 4 : 0);
  return {
    ticks,
    charges,
    fillTicks: fillTicks(ticks, config),
    credit: creditOf[kind],
    channel,
    units: Math.ceil(payload / dataCreditBytes),
  };
}
