/**
 * A pcapng file cut into blocks: type, length, body, length again ("General Block Structure",
 * draft-ietf-opsawg-pcapng). What a block says is read in pcapng-section.ts.
 */
import type { ByteQueue } from './byte-queue.ts';
import { BLOCK_BYTES_MAX, type CaptureState } from './capture-state.ts';
import { isRead, PcapngSection, SECTION_HEADER } from './pcapng-section.ts';
import type { CapturedFrame } from './types.ts';

/** "Byte-Order Magic" of the section header. */
const BYTE_ORDER_MAGIC = 0x1a2b3c4d;
/** Least block: type, length, length. */
const BLOCK_BYTES_LEAST = 12;
/** "Packet Block", which the enhanced one replaced. */
const OBSOLETE_PACKET = 2;

/** Reads one file block by block. */
export class PcapngBlocks {
  readonly #state: CaptureState;
  readonly #section: PcapngSection;
  #little = true;
  #begun = false;
  /** A block that is skipped: bytes still to come, and its length. */
  #skipping: { left: number; readonly length: number } | undefined;

  constructor(state: CaptureState) {
    this.#state = state;
    this.#section = new PcapngSection(state);
  }

  /** Frames of all blocks that are in the queue as a whole. */
  *frames(queue: ByteQueue): Generator<CapturedFrame, void> {
    while (!this.#state.stopped) {
      if (this.#skipping !== undefined) {
        if (!this.#skip(queue, this.#skipping)) return;
        continue;
      }
      if (!this.#headed(queue)) return;
      const type = queue.u32(0, this.#little);
      const length = queue.u32(4, this.#little);
      if (!this.#sound(type, length)) return;
      if (length > BLOCK_BYTES_MAX || !isRead(type)) {
        this.#beginSkip(type, length);
        continue;
      }
      if (queue.length < length || !this.#closed(queue, length, length)) return;
      const frame = this.#section.block(queue, type, length, this.#little);
      if (frame !== undefined) yield frame;
      queue.drop(length);
      this.#state.readBytes += length;
    }
  }

  /** Tells what is left over when there is no more to come. */
  end(queue: ByteQueue): void {
    if (this.#state.stopped) return;
    if (this.#skipping !== undefined) {
      this.#state.cut(`${this.#skipping.left - queue.length} bytes are missing`);
    } else if (queue.length > 0) {
      const known = this.#headed(queue);
      const missing = known ? queue.u32(4, this.#little) - queue.length : 0;
      if (!this.#state.stopped) {
        this.#state.cut(known ? `${missing} bytes are missing` : 'not even its length is there');
      }
    }
  }

  /** True when type and length of the next block are there; a section header sets the byte order. */
  #headed(queue: ByteQueue): boolean {
    if (queue.length < 8) return false;
    if (queue.u32(0, true) !== SECTION_HEADER) return true;
    if (queue.length < 12) return false;
    this.#little = queue.u32(8, true) === BYTE_ORDER_MAGIC;
    if (this.#little || queue.u32(8, false) === BYTE_ORDER_MAGIC) return true;
    const got = `0x${queue.u32(8, false).toString(16).padStart(8, '0')}`;
    this.#state.bad('the byte-order magic 0x1a2b3c4d', got, true);
    return false;
  }

  #sound(type: number, length: number): boolean {
    const starts = type === SECTION_HEADER;
    if (!this.#begun && !starts) {
      this.#state.bad('a section header block first', `type ${type}`, true);
    } else if (length < BLOCK_BYTES_LEAST || length % 4 !== 0) {
      this.#state.bad('a block length of 12 or more, a multiple of 4', `${length}`, true);
    }
    this.#begun = true;
    return !this.#state.stopped;
  }

  /** Checks the length at the end of a block of which `rest` bytes are in front of the queue. */
  #closed(queue: ByteQueue, rest: number, length: number): boolean {
    const trailer = queue.u32(rest - 4, this.#little);
    if (trailer === length) return true;
    this.#state.bad(`the length ${length} again at the end`, `${trailer}`, true);
    return false;
  }

  #beginSkip(type: number, length: number): void {
    this.#skipping = { left: length, length };
    if (isRead(type)) {
      this.#state.bad(`a block of at most ${BLOCK_BYTES_MAX} bytes`, `${length}`, false);
      return;
    }
    this.#state.skip(type);
    if (type !== OBSOLETE_PACKET) return;
    this.#state.notes.finding({
      id: 'evidence-capture',
      level: 'unknown',
      subject: 'obsolete packet blocks',
      message:
        'the file has packets in a kind of block that is no longer written; they are left out',
      next: 'save the capture again with a program of today',
    });
  }

  /** Drops what is there of a skipped block; true once its end was checked. */
  #skip(queue: ByteQueue, block: { left: number; readonly length: number }): boolean {
    const body = Math.min(block.left - 4, queue.length);
    queue.drop(body);
    block.left -= body;
    if (block.left > 4 || queue.length < 4) return false;
    if (!this.#closed(queue, 4, block.length)) return false;
    queue.drop(4);
    this.#state.readBytes += block.length;
    this.#skipping = undefined;
    return true;
  }
}
