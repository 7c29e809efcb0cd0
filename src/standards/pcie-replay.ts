/** How long a replay takes a PCI Express link, from the limits that the standard sets. */
import {
  ackLatencyLimit,
  internalDelay,
  type PayloadSize,
  type PcieGeneration,
  type PcieWidth,
  packetOverheadBytes,
  replayTimer,
  unacknowledgedMost,
} from './pcie-link.ts';

/** What the length of a replay depends on. */
export interface ReplayContext {
  readonly generation: PcieGeneration;
  readonly width: PcieWidth;
  /** Max_Payload_Size, bytes. */
  readonly maxPayload: number;
  /** Fastest generation that either port knows; it decides which replay timer may run. */
  readonly fastest?: PcieGeneration | undefined;
  readonly extendedSynch?: boolean | undefined;
}

interface SymbolTimes {
  readonly low: number;
  readonly expected: number;
  readonly high: number;
}

/** Symbol times of a flit of 256 bytes (SPEC 6.3 tables 4-10 to 4-14). */
function flitSymbolTimes(width: PcieWidth): number {
  return 256 / width;
}

/**
 * Flits that pass between a bad one and its repetition, and in the worst case: timer and buffer. No
 * clause at hand; 1500 is recalled from memory.
 */
const replayFlits = { low: 3, expected: 16, high: 1500 + 512 } as const;

/**
 * Time from the start of a packet with an error to the start of its repetition, in which everything sent
 * is sent in vain; symbol times.
 *
 * - low: the packet, the internal delay of the receiver, the Nak.
 * - expected: the packet, an Ack latency limit until the Nak starts, the Nak, and the packet that the
 *   transmitter had under way.
 * - high: the Nak or Ack is lost too. The replay timer runs out, and all that was sent meanwhile and
 *   not acknowledged, at most half the sequence space, is sent once more.
 */
export function replaySymbolTimes(c: ReplayContext): SymbolTimes {
  const { generation, width, maxPayload } = c;
  if (generation === 6) {
    const flit = flitSymbolTimes(width);
    const { low, expected, high } = replayFlits;
    return { low: low * flit, expected: expected * flit, high: high * flit };
  }
  const packet = Math.ceil((maxPayload + packetOverheadBytes) / width);
  const nak = Math.ceil(8 / width);
  const ackLimit = ackLatencyLimit(generation, width, maxPayload as PayloadSize);
  const timer = timerLongest(c, ackLimit);
  const buffer = Math.min(timer, (unacknowledgedMost - 1) * packet);
  return {
    low: packet + internalDelay[generation] + nak,
    expected: packet + ackLimit + nak + packet,
    high: packet + timer + buffer,
  };
}

/** REPLAY_TIMER at its longest, symbol times, from the Ack latency limit (SPEC 6.3 §3.6.2.1). */
export function timerLongest(c: ReplayContext, ackLimit: number): number {
  if ((c.fastest ?? c.generation) < 4) {
    return replayTimer.ackLimits * replayTimer.tolerance * ackLimit;
  }
  return (c.extendedSynch ? replayTimer.extended : replayTimer.simplified).longest;
}
