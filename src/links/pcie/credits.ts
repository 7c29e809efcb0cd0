/**
 * Credit windows. A credit is held from the start of its packet until the packet has arrived whole and
 * the credit has come back; with K packets allowed in flight n packets take at least n × hold / K. Data
 * credits count in whole packets where all packets of the data are alike (SPEC 6.3 §2.6.1: credits are
 * never shared between packets). Interrupts and descriptor traffic hold credits of their kind too.
 */
import type { Direction } from '../../model/answer.ts';
import { gcdNumber, lcmNumber } from '../../numeric/gcd.ts';
import type { Flow, WindowLimit } from '../fabric.ts';
import { arrivalWait, type Packet, packetTicks } from './charge.ts';
import type { Credits, PcieConfig, Receiver } from './config.ts';
import { type Counted, dataPackets, steeringPackets } from './packets.ts';
import type { PacketKind } from './sizes.ts';

/** Bytes of one data credit: four double words (SPEC 6.3 §2.6.1). */
export const dataCreditBytes = 16;

interface Held {
  readonly count: number;
  readonly units: number;
  /** For which it holds them, and those of the packet alone. */
  readonly ticks: number;
  readonly own: number;
  /** False for what steers the transfer: its size says nothing of how the data takes credits. */
  readonly data: boolean;
}

/** Whose credits, and which way the packets go that hold them. */
interface Side {
  readonly receiver: Receiver;
  readonly credits: Credits;
  readonly channel: number;
  readonly direction: Direction;
  /** Transfers over which packets are counted. */
  readonly transfers: number;
}

/**
 * Limits that the credits of this link set on a flow.
 * @param flipped the requester sits at the upper end, so what it sends arrives at the lower
 * @throws RangeError when a receiver grants less than one packet, or nothing on the flow's virtual
 *   channel: nothing would ever be sent
 */
export function limits(flow: Flow, config: PcieConfig, flipped = false): WindowLimit[] {
  const { rootSide, moduleSide } = config;
  const channel = flow.virtualChannel ?? 0;
  const data = dataPackets(flow, config);
  const steering = steeringPackets(flow, config);
  const transfers = steering.reduce((all, { every }) => lcmNumber(all, every), 1);
  const far = sideOf(flipped ? moduleSide : rootSide, channel, 'up', transfers);
  const held = (kinds: readonly PacketKind[], side: Side): Held[] => [
    ...heldBy(data, kinds, side, config, true),
    ...heldBy(steering, kinds, side, config, false),
  ];
  const posted = held(['MWr', 'MsiWrite'], far);
  const found = [
    ...windows('posted_headers', far.credits.postedHeaders, headersOf(posted), far),
    ...dataWindows('posted_data', far.credits.postedData, posted, far),
    ...windows('nonposted_headers', far.credits.nonpostedHeaders, held(['MRd'], far), far),
  ];
  const home = flipped ? rootSide : moduleSide;
  const { completionHeaders = infinite, completionData = infinite } =
    (channel === 0 ? home : home.channels?.[channel]) ?? {};
  if (completionHeaders === infinite && completionData === infinite) return found;
  const near = sideOf(home, channel, 'down', transfers);
  const answers = held(['CplD'], near);
  return [
    ...found,
    ...windows('completion_headers', completionHeaders, headersOf(answers), near),
    ...dataWindows('completion_data', completionData, answers, near),
  ];
}

const infinite = Number.POSITIVE_INFINITY;

function sideOf(
  receiver: Receiver,
  channel: number,
  direction: Direction,
  transfers: number,
): Side {
  const credits = channel === 0 ? receiver : receiver.channels?.[channel];
  if (!credits) {
    throw new RangeError(`virtual channel ${channel}: the receiver grants no credits on it`);
  }
  return { receiver, credits, channel, direction, transfers };
}

/** Packets of some kinds, each with its data credits and the time for which it holds them. */
function heldBy(
  list: readonly Counted[],
  kinds: readonly PacketKind[],
  side: Side,
  config: PcieConfig,
  data: boolean,
): Held[] {
  return list
    .filter(({ packet }) => kinds.includes(packet.kind))
    .map(({ packet, count, every }) => {
      const own = packetTicks(packet, config);
      return {
        count: (count * side.transfers) / every,
        units: dataUnits(packet),
        ticks: own + arrivalWait(config) + side.receiver.creditReturnTicks,
        own,
        data,
      };
    });
}

/** Data credits of a packet; the double word of an interrupt is in its layout, not in its payload. */
function dataUnits({ kind, payloadBytes, paddingBytes }: Packet): number {
  if (kind === 'MsiWrite' || kind === 'MRd') return 1;
  return Math.ceil((payloadBytes + paddingBytes) / dataCreditBytes);
}

function headersOf(held: readonly Held[]): Held[] {
  return held.map((h) => ({ ...h, units: 1 }));
}

const creditNames = {
  posted_headers: 'posted header credits',
  posted_data: 'posted data credits of 16 B',
  nonposted_headers: 'non-posted header credits',
  completion_headers: 'completion header credits',
  completion_data: 'completion data credits of 16 B',
} as const;
type CreditId = keyof typeof creditNames;

/** A window of data credits: only what whole packets can take of it counts. */
function dataWindows(id: CreditId, granted: number, held: readonly Held[], side: Side) {
  if (granted === infinite || held.length === 0) return [];
  const alike = held.some((h) => h.data) ? held.filter((h) => h.data) : held;
  const unit = alike.reduce((g, h) => gcdNumber(g, h.units), 0);
  const largest = held.reduce((m, h) => Math.max(m, h.units), 0);
  if (granted < largest) {
    const name = creditNames[id].replace(' credits of 16 B', ' credits');
    throw new RangeError(`${granted} ${name} cannot hold one packet of ${largest} units`);
  }
  return windows(id, Math.floor(granted / unit) * unit, held, side);
}

function windows(
  id: CreditId,
  window: number,
  held: readonly Held[],
  { channel, direction, transfers }: Side,
): WindowLimit[] {
  if (window === infinite || held.length === 0) return [];
  const ticks = held.reduce((sum, h) => sum + h.count * h.units * h.ticks, 0);
  const on = channel === 0 ? '' : ` on virtual channel ${channel}`;
  const key = channel === 0 ? id : `${id}_vc${channel}`;
  const cause = `all ${window} ${creditNames[id]}${on} are out`;
  const holders = { packets: 0, units: 0, ticks: 0 };
  for (const { count, units, own } of held) {
    holders.packets += count;
    holders.units += count * units;
    holders.ticks += count * own;
  }
  return [
    { id: key, account: 'credit_stall', direction, ticks, transfers, window, holders, cause },
  ];
}
