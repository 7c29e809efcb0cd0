/**
 * Classic captures: a header of 24 bytes, then records of 16 bytes and a frame; both byte orders,
 * microseconds or nanoseconds ("PCAP Capture File Format", draft-ietf-opsawg-pcap, from memory).
 */
import type { ByteQueue } from './byte-queue.ts';
import { BLOCK_BYTES_MAX, type CaptureState } from './capture-state.ts';
import { captureClock } from './capture-time.ts';
import type { CapturedFrame } from './types.ts';

/** "Magic Number" of microseconds and of nanoseconds. */
const MICROSECONDS = 0xa1b2c3d4;
const NANOSECONDS = 0xa1b23c4d;
const HEADER_BYTES = 24;
const RECORD_BYTES = 16;

/** Byte order and units a second of a magic number as read little-endian. */
export function pcapOrder(magic: number): { little: boolean; perSecond: number } | undefined {
  if (magic === MICROSECONDS) return { little: true, perSecond: 1_000_000 };
  if (magic === NANOSECONDS) return { little: true, perSecond: 1_000_000_000 };
  if (magic === 0xd4c3b2a1) return { little: false, perSecond: 1_000_000 };
  if (magic === 0x4d3cb2a1) return { little: false, perSecond: 1_000_000_000 };
  return undefined;
}

/** Reads one file record by record. */
export class PcapRecords {
  readonly #state: CaptureState;
  #order: { little: boolean; perSecond: number } | undefined;

  constructor(state: CaptureState) {
    this.#state = state;
  }

  /** Frames of all records that are in the queue as a whole. */
  *frames(queue: ByteQueue): Generator<CapturedFrame, void> {
    if (this.#order === undefined && !this.#header(queue)) return;
    const { little, perSecond } = this.#order!;
    const only = this.#state.interfaces[0]!;
    while (!this.#state.stopped && queue.length >= RECORD_BYTES) {
      const captured = queue.u32(8, little);
      if (captured > BLOCK_BYTES_MAX) {
        this.#state.bad(`a record of at most ${BLOCK_BYTES_MAX} bytes`, `${captured}`, true);
        return;
      }
      if (queue.length < RECORD_BYTES + captured) return;
      const units = queue.u32(4, little);
      const carry = Math.floor(units / perSecond);
      only.frames += 1;
      yield {
        offset: this.#state.readBytes,
        interface: 0,
        time: { seconds: queue.u32(0, little) + carry, rest: units - carry * perSecond, perSecond },
        captured,
        original: queue.u32(12, little),
        direction: 'unknown',
        data: queue.bytes(RECORD_BYTES, captured),
      };
      queue.drop(RECORD_BYTES + captured);
      this.#state.readBytes += RECORD_BYTES + captured;
    }
  }

  /** Tells what is left over when there is no more to come. */
  end(queue: ByteQueue): void {
    if (this.#state.stopped || (queue.length === 0 && this.#order !== undefined)) return;
    if (this.#order === undefined) this.#state.cut('not even the file header is whole');
    else if (queue.length < RECORD_BYTES) this.#state.cut('its length is not there');
    else {
      const missing = RECORD_BYTES + queue.u32(8, this.#order.little) - queue.length;
      this.#state.cut(`${missing} bytes are missing`);
    }
  }

  #header(queue: ByteQueue): boolean {
    if (queue.length < HEADER_BYTES) return false;
    const order = pcapOrder(queue.u32(0, true))!;
    const link = queue.u32(20, order.little);
    // Bit 26 says that bits 28 to 31 count the 2-byte words of the frame check sequence.
    const check = (link & 0x0400_0000) === 0 ? undefined : 2 * (link >>> 28);
    this.#order = order;
    this.#state.interfaces.push({
      frames: 0,
      clock: captureClock(BigInt(order.perSecond), 0),
      info: {
        linkType: link & 0xffff,
        snapLength: queue.u32(16, order.little),
        ticksPerSecond: order.perSecond,
        offsetSeconds: 0,
        ...(check !== undefined && { frameCheckBytes: check }),
      },
    });
    queue.drop(HEADER_BYTES);
    this.#state.readBytes += HEADER_BYTES;
    return true;
  }
}
