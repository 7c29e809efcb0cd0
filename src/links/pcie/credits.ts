/**
 * Credit windows. A credit is held from the start of its packet until the packet has arrived whole and
 * the credit has come back; with K packets allowed in flight n packets take at least n × hold / K. Data
 * credits count in whole packets where all packets are alike (SPEC 6.3 §2.6.1: credits are never shared
 * between packets).
 *
 * Limits: interrupts and descriptor traffic hold credits beside these and are not counted.
 */
import type { Direction } from '../../model/answer.ts';
import { gcdNumber } from '../../numeric/gcd.ts';
import type { Flow, WindowLimit } from '../fabric.ts';
import { packetTicks } from './charge.ts';
import type { Credits, PcieConfig, Receiver } from './config.ts';
import { barePacket, type Carrier, carriers, dataPacket, requests } from './packets.ts';
import { paddedBytes } from './split.ts';

/** Bytes of one data credit: four double words (SPEC 6.3 §2.6.1). */
export const dataCreditBytes = 16;

interface Held {
  readonly count: number;
  readonly units: number;
  readonly ticks: number;
}

/** Whose credits, and which way the packets go that hold them. */
interface Side {
  readonly receiver: Receiver;
  readonly credits: Credits;
  readonly channel: number;
  readonly direction: Direction;
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
  const far = sideOf(flipped ? moduleSide : rootSide, channel, 'up');
  if (flow.kind === 'write') {
    const writes = heldData('MWr', flow, config, far);
    return [
      ...windows('posted_headers', far.credits.postedHeaders, headersOf(writes), far),
      ...dataWindows('posted_data', far.credits.postedData, writes, far),
    ];
  }
  const count = requests(flow, config).reduce((sum, r) => sum + r.count, 0);
  const ticks = packetTicks(barePacket('MRd', flow), config) + far.receiver.creditReturnTicks;
  const asked = [{ count, units: 1, ticks }];
  const { nonpostedHeaders } = far.credits;
  const list = windows('nonposted_headers', nonpostedHeaders, asked, far);
  const home = flipped ? rootSide : moduleSide;
  const { completionHeaders = infinite, completionData = infinite } =
    (channel === 0 ? home : home.channels?.[channel]) ?? {};
  if (completionHeaders === infinite && completionData === infinite) return list;
  const near = sideOf(home, channel, 'down');
  const answers = heldData('CplD', flow, config, near);
  return [
    ...list,
    ...windows('completion_headers', completionHeaders, headersOf(answers), near),
    ...dataWindows('completion_data', completionData, answers, near),
  ];
}

const infinite = Number.POSITIVE_INFINITY;

function sideOf(receiver: Receiver, channel: number, direction: Direction): Side {
  const credits = channel === 0 ? receiver : receiver.channels?.[channel];
  if (!credits) {
    throw new RangeError(`virtual channel ${channel}: the receiver grants no credits on it`);
  }
  return { receiver, credits, channel, direction };
}

function heldData(kind: Carrier, flow: Flow, config: PcieConfig, side: Side): Held[] {
  return carriers(flow, config).map(({ bytes, lead, count }) => ({
    count,
    units: Math.ceil(paddedBytes(bytes, lead) / dataCreditBytes),
    ticks:
      packetTicks(dataPacket(kind, flow, bytes, lead), config) + side.receiver.creditReturnTicks,
  }));
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
  if (granted === infinite) return [];
  const unit = held.reduce((g, h) => gcdNumber(g, h.units), 0);
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
  { channel, direction }: Side,
): WindowLimit[] {
  if (window === infinite) return [];
  const ticks = held.reduce((sum, h) => sum + h.count * h.units * h.ticks, 0);
  const on = channel === 0 ? '' : ` on virtual channel ${channel}`;
  const key = channel === 0 ? id : `${id}_vc${channel}`;
  const cause = `all ${window} ${creditNames[id]}${on} are out`;
  return [{ id: key, account: 'credit_stall', direction, ticks, window, cause }];
}
