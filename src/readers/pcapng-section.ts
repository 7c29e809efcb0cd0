/**
 * What the blocks of a pcapng section say: interfaces, frames, counters. Layouts: "PCAP Next
 * Generation (pcapng) Capture File Format", draft-ietf-opsawg-pcapng, by the titles beside the
 * numbers (from memory; tests hold them against a general dissector's reading of the same files).
 */
import type { ByteQueue } from './byte-queue.ts';
import { type CaptureState, INTERFACES_MAX } from './capture-state.ts';
import { captureClock } from './capture-time.ts';
import {
  type OptionList,
  optionText,
  optionUnsigned,
  padded,
  readOptions,
} from './pcapng-options.ts';
import type { CaptureDirection, CapturedFrame } from './types.ts';

/** "Section Header Block", the same in both byte orders. */
export const SECTION_HEADER = 0x0a0d0d0a;
/** "Interface Description Block", "Simple Packet Block", "Interface Statistics Block", … */
const INTERFACE = 1;
const SIMPLE_PACKET = 3;
const STATISTICS = 5;
/** "Enhanced Packet Block". */
const ENHANCED_PACKET = 6;

/** Least length of each block that is read: fixed fields, type and both lengths. */
const leastLength: ReadonlyMap<number, number> = new Map([
  [SECTION_HEADER, 28],
  [INTERFACE, 20],
  [SIMPLE_PACKET, 16],
  [STATISTICS, 24],
  [ENHANCED_PACKET, 32],
]);

/** "Interface Description Block": if_name, if_speed, if_tsresol, if_fcslen, if_tsoffset. */
const IF_NAME = 2;
const IF_SPEED = 8;
const IF_TSRESOL = 9;
const IF_FCSLEN = 13;
const IF_TSOFFSET = 14;
/** "Enhanced Packet Block": epb_flags, whose bits 0 and 1 are the direction. */
const EPB_FLAGS = 2;
const directions: readonly CaptureDirection[] = ['unknown', 'inbound', 'outbound', 'unknown'];
/** "Interface Statistics Block": isb_ifrecv, isb_ifdrop. */
const ISB_IFRECV = 4;
const ISB_IFDROP = 5;
/** Units a second where if_tsresol is absent: microseconds. */
const DEFAULT_RESOLUTION = 10n ** 6n;

/** True for the blocks that are read; the others are skipped. */
export function isRead(type: number): boolean {
  return leastLength.has(type);
}

/** The section at hand. */
export class PcapngSection {
  readonly #state: CaptureState;
  /** Number of the section's first interface, counted through the file. */
  #firstInterface = 0;
  /** False in a section of a version that is not known. */
  #readable = true;

  constructor(state: CaptureState) {
    this.#state = state;
  }

  /** Reads the block in front of the queue, all of which is there; a frame if it holds one. */
  block(
    queue: ByteQueue,
    type: number,
    length: number,
    little: boolean,
  ): CapturedFrame | undefined {
    const least = leastLength.get(type) ?? 0;
    if (length < least) {
      this.#state.bad(`a block of type ${type} of ${least} bytes or more`, `${length}`, false);
      return undefined;
    }
    if (type === SECTION_HEADER) {
      this.#header(queue, little);
      return undefined;
    }
    if (!this.#readable) return undefined;
    if (type === INTERFACE) this.#interface(queue, length, little);
    else if (type === STATISTICS) this.#statistics(queue, length, little);
    else if (type === SIMPLE_PACKET) return this.#simple(queue, length, little);
    else return this.#enhanced(queue, length, little);
    return undefined;
  }

  #header(queue: ByteQueue, little: boolean): void {
    this.#firstInterface = this.#state.interfaces.length;
    const major = queue.u16(12, little);
    this.#readable = major === 1;
    if (!this.#readable) this.#state.bad('a section of version 1', `${major}`, false);
  }

  #options(queue: ByteQueue, from: number, length: number, little: boolean): OptionList {
    const list = readOptions(queue, from, length - 4, little);
    if (!list.whole) this.#state.bad('options within their block', 'one that is longer', false);
    return list;
  }

  #interface(queue: ByteQueue, length: number, little: boolean): void {
    if (this.#state.interfaces.length >= INTERFACES_MAX) {
      this.#state.bad(`at most ${INTERFACES_MAX} interfaces`, 'one more', true);
      return;
    }
    const options = this.#options(queue, 16, length, little);
    const number = (code: number, bytes: 1 | 4 | 8) =>
      optionUnsigned(queue, options, code, bytes, little);
    const resolution = number(IF_TSRESOL, 1);
    const offset = Number(BigInt.asIntN(64, number(IF_TSOFFSET, 8) ?? 0n));
    const sound = Number.isSafeInteger(offset);
    if (!sound) this.#state.bad('a time offset within 2^53 s', `${offset}`, false);
    const units = resolution === undefined ? DEFAULT_RESOLUTION : unitsPerSecond(resolution);
    const clock = captureClock(units, sound ? offset : 0);
    if (clock.rounds) this.#tellRounded();
    const name = optionText(queue, options, IF_NAME);
    const speed = number(IF_SPEED, 8);
    const check = number(IF_FCSLEN, 1);
    this.#state.interfaces.push({
      frames: 0,
      clock,
      info: {
        linkType: queue.u16(8, little),
        snapLength: queue.u32(12, little),
        ticksPerSecond: Number(units),
        offsetSeconds: sound ? offset : 0,
        ...(name !== undefined && { name }),
        ...(speed !== undefined && { speed: Number(speed) }),
        ...(check !== undefined && { frameCheckBytes: Number(check) }),
      },
    });
  }

  #tellRounded(): void {
    this.#state.notes.finding({
      id: 'evidence-rounded',
      level: 'caution',
      subject: 'times',
      message: 'an interface counts time finer than 2^-53 s; its times were cut to 1 ps',
      next: 'nothing, unless such digits matter',
    });
  }

  #statistics(queue: ByteQueue, length: number, little: boolean): void {
    const found = this.#state.interfaces[this.#firstInterface + queue.u32(8, little)];
    if (found === undefined) {
      this.#state.bad('counters of an interface of this section', 'of another', false);
      return;
    }
    const options = this.#options(queue, 20, length, little);
    const received = optionUnsigned(queue, options, ISB_IFRECV, 8, little);
    const dropped = optionUnsigned(queue, options, ISB_IFDROP, 8, little);
    found.info = {
      ...found.info,
      ...(received !== undefined && { received: Number(received) }),
      ...(dropped !== undefined && { dropped: Number(dropped) }),
    };
  }

  #enhanced(queue: ByteQueue, length: number, little: boolean): CapturedFrame | undefined {
    const number = this.#firstInterface + queue.u32(8, little);
    const found = this.#state.interfaces[number];
    const captured = queue.u32(20, little);
    if (found === undefined || captured > length - 32) {
      const expected = found ? `at most ${length - 32} captured bytes` : 'a frame of an interface';
      const got = found ? `${captured}` : 'one of an interface that was not described';
      this.#state.bad(expected, got, false);
      return undefined;
    }
    const options = this.#options(queue, 28 + padded(captured), length, little);
    const flags = optionUnsigned(queue, options, EPB_FLAGS, 4, little) ?? 0n;
    found.frames += 1;
    return {
      offset: this.#state.readBytes,
      interface: number,
      time: found.clock.time(queue.u32(12, little), queue.u32(16, little)),
      captured,
      original: queue.u32(24, little),
      direction: directions[Number(flags & 3n)]!,
      data: queue.bytes(28, captured),
    };
  }

  /** A frame of the section's first interface, without time; its length hangs on the snap length. */
  #simple(queue: ByteQueue, length: number, little: boolean): CapturedFrame | undefined {
    const found = this.#state.interfaces[this.#firstInterface];
    if (found === undefined) {
      this.#state.bad('a frame of an interface', 'one before any was described', false);
      return undefined;
    }
    const original = queue.u32(8, little);
    const { snapLength } = found.info;
    const limit = snapLength === 0 ? original : Math.min(original, snapLength);
    const captured = Math.min(limit, length - 16);
    found.frames += 1;
    return {
      offset: this.#state.readBytes,
      interface: this.#firstInterface,
      captured,
      original,
      direction: 'unknown',
      data: queue.bytes(12, captured),
    };
  }
}

/** `if_tsresol`: a power of 10, or of 2 where the highest bit is set. */
function unitsPerSecond(resolution: bigint): bigint {
  const power = resolution & 0x7fn;
  return (resolution & 0x80n) === 0n ? 10n ** power : 2n ** power;
}
