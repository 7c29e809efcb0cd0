/**
 * When flits go. A link in flit mode sends flits without a pause, full or not, and a SKP ordered set after
 * every so many (SPEC 6.3 §4.2.3, §4.2.8.3): the slots of a direction are known for all time. Bytes of
 * packets enter a flit at the mean pace of the wire, so that each brings its share of the data link bytes,
 * CRC and correction; nothing can tell, since nothing of a flit is used before all of it has arrived.
 */
import { type EventState, never } from '../../event-state.ts';
import { compensation, ticksPerByte } from '../charge.ts';
import type { PcieConfig } from '../config.ts';
import { flitBytes, flitFillBytes } from '../flit.ts';

export class FlitSlots {
  /** System ticks: of a byte of a packet, of a flit, of a set, from set to set. */
  readonly byte: number;
  readonly flit: number;
  readonly set: number;
  readonly interval: number;
  readonly #clock: { readonly now: number };
  /** Start of the flit after the last set. */
  readonly #origin: Float64Array;
  readonly #grain: number;

  constructor(
    config: PcieConfig,
    scale: number,
    clock: { readonly now: number },
    state: EventState,
  ) {
    const { interval, lost } = compensation(config);
    this.byte = ticksPerByte(config) * scale;
    this.flit = flitBytes.packets * this.byte;
    this.set = lost * scale;
    this.interval = interval * scale;
    this.#clock = clock;
    this.#origin = state.pastTimes(1);
    this.#origin[0] = 0;
    this.#grain = flitFillBytes * this.byte;
    if (this.#origin[0] === never) throw new RangeError('slots begin at 0');
  }

  /** Ticks of all flits between two sets. */
  get flits(): number {
    return this.interval - this.set;
  }

  /** Ticks from the end of the last set to a time from now on. */
  #since(time: number): number {
    const origin = this.#origin;
    while (this.#clock.now - origin[0]! >= this.interval) origin[0]! += this.interval;
    return time - origin[0]!;
  }

  /** Start of the slot that a time lies in, or of the next one for a time in a set. */
  start(time: number): number {
    const since = this.#since(time);
    const whole = Math.floor(since / this.interval) * this.interval;
    const within = since - whole;
    const from = time - within;
    return within >= this.flits
      ? from + this.interval
      : from + Math.floor(within / this.flit) * this.flit;
  }

  /** Start of the first slot from a time on. */
  next(time: number): number {
    const start = this.start(time);
    return start >= time ? start : this.start(start + this.flit);
  }

  /**
   * Time from now on at which a packet may start that follows no other directly: behind NOP packets, at a
   * multiple of 16 bytes of its flit (SPEC 6.3 §4.2.3.4.1).
   *
   * @param start of the present slot
   */
  aligned(start: number): number {
    const { now } = this.#clock;
    if (start >= now) return start;
    const at = start + Math.ceil((now - start) / this.#grain) * this.#grain;
    return at < start + this.flit ? at : this.start(start + this.flit);
  }

  /** Ticks from now to the next multiple of 16 bytes, or to the end of the flit that began at `start`. */
  fill(start: number): number {
    const { now } = this.#clock;
    if (start >= now) return 0;
    const end = Math.ceil((now - start) / this.#grain) * this.#grain;
    return Math.min(end, this.flit) - (now - start);
  }
}
