/** What a port keeps to send again, and its timers, where nothing is known of the part. */
import {
  ackLatencyLimit,
  internalDelay,
  type PayloadSize,
  packetOverheadBytes,
  replayTimer,
  unacknowledgedMost,
} from './pcie-link.ts';
import { type ReplayContext, timerLongest } from './pcie-replay.ts';

/** Rules of a replay buffer and its acknowledgements; times in symbol times. */
export interface ReplayBufferDefaults {
  /** Packets kept at most. */
  readonly packets: number;
  /** Bytes kept at most, counted as on the wire. */
  readonly bytes: number;
  /** REPLAY_TIMER. */
  readonly timer: number;
  /** From the first packet not yet acknowledged to its Ack at the latest. */
  readonly ack: number;
  /** From the end of a bad packet to its Nak. */
  readonly nak: number;
}

/** REPLAY_NUM counts so many replays without progress; the next one retrains the link (§3.6.2.1). */
export const replaysWithoutProgress = 3;

/**
 * Defaults of a link without flits.
 *
 * - packets: a transmitter stops when the next sequence number is 2048 or more beyond the last one
 *   acknowledged (SPEC 6.3 §3.6.2.1), so 2047 packets are the most.
 * - bytes: what passes until the Ack of a packet must be there, so that a port alone never waits: the
 *   Ack timer, the packet and the set that the Ack waits behind, the Ack, and two packets more; common
 *   practice, no source.
 * - timer and Ack: the limits with the whole of their tolerance of −0 %, +100 % (§3.6.2.1, §3.6.3.1).
 * - Nak: the internal delay that the limits allow a receiver (§3.6.3.1).
 *
 * @throws RangeError for generation 6: flits are kept instead
 */
export function replayBufferDefaults(c: ReplayContext): ReplayBufferDefaults {
  const { generation, width, maxPayload } = c;
  if (generation === 6) throw new RangeError('flit mode keeps flits, not packets');
  const limit = ackLatencyLimit(generation, width, maxPayload as PayloadSize);
  const ack = replayTimer.tolerance * limit;
  const longest = maxPayload + packetOverheadBytes;
  // Ordered set and Ack take less than the internal delay that is added for them.
  const passing = (ack + internalDelay[generation]) * width + 3 * longest;
  return {
    packets: unacknowledgedMost - 1,
    bytes: Math.ceil(passing / longest) * longest,
    timer: timerLongest(c, limit),
    ack,
    nak: internalDelay[generation],
  };
}

/**
 * Flit mode: flits kept at most, and flits that pass until a receiver has found a flit bad, corrected what
 * it could, and has its Nak ready. From memory; no clause at hand.
 */
export const flitReplayDefaults = { flits: 511, nakFlits: 1 } as const;
