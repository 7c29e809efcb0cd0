/**
 * Packets sent and not yet acknowledged, in order, with their sequence numbers (SPEC 6.3 §3.6.2.1). A
 * ring of fixed size; nothing is allocated after it is made.
 */
import type { StateReader, StateWriter } from '../../../kernel/index.ts';
import type { OwnState } from '../../event-state.ts';

/** Sequence numbers have 12 bits. */
export const sequences = 4096;
/** Half of them: what lies so far back is an old packet, what lies ahead is one after a lost one. */
export const sequenceWindow = 2048;

export class ReplayBuffer implements OwnState {
  readonly #packetsMost: number;
  readonly #bytesMost: number;
  readonly #bytesOf: Int32Array;
  readonly #longest: number;
  readonly #kind: Int32Array;
  readonly #mark: Int32Array;
  readonly #birth: Float64Array;
  #head = 0;
  #count = 0;
  #bytes = 0;
  /** Packets from the head that need not be sent again: fewer than there are during a replay. */
  #sent = 0;
  /** Sequence number of the head, or of the next packet. */
  #first = 0;

  /**
   * @param bytesOf bytes by kind of packet; 0 for kinds that never come
   * @throws RangeError for a buffer that cannot hold the longest packet, or more than numbers tell apart
   */
  constructor(packets: number, bytes: number, bytesOf: Int32Array) {
    this.#longest = bytesOf.reduce((most, one) => Math.max(most, one), 0);
    if (!(Number.isInteger(packets) && packets >= 1 && packets < sequenceWindow)) {
      throw new RangeError(`a replay buffer holds 1 to ${sequenceWindow - 1} packets: ${packets}`);
    }
    if (!(bytes >= this.#longest)) {
      throw new RangeError(`a replay buffer of ${bytes} B cannot hold ${this.#longest} B`);
    }
    this.#packetsMost = packets;
    this.#bytesMost = bytes;
    this.#bytesOf = bytesOf;
    const places = 2 ** Math.ceil(Math.log2(packets));
    this.#kind = new Int32Array(places);
    this.#mark = new Int32Array(places);
    this.#birth = new Float64Array(places);
  }

  get size(): number {
    return this.#count;
  }

  /** Bytes kept. */
  get bytes(): number {
    return this.#bytes;
  }

  /** Whether the longest packet would not fit: only then does the next one wait. */
  get full(): boolean {
    return this.#count >= this.#packetsMost || this.#bytes + this.#longest > this.#bytesMost;
  }

  /** Whether packets wait to be sent again. */
  get replaying(): boolean {
    return this.#sent < this.#count;
  }

  /** Keeps a packet that is being sent for the first time; returns its sequence number. */
  push(kind: number, mark: number, birth: number): number {
    const at = (this.#head + this.#count) & (this.#kind.length - 1);
    this.#kind[at] = kind;
    this.#mark[at] = mark;
    this.#birth[at] = birth;
    this.#bytes += this.#bytesOf[kind]!;
    const sequence = (this.#first + this.#count) & (sequences - 1);
    this.#count++;
    this.#sent++;
    return sequence;
  }

  /** All packets are to be sent again, in order. */
  rewind(): void {
    this.#sent = 0;
  }

  /** Kind, mark and birth of the packet to send again. */
  get kind(): number {
    return this.#kind[this.#at()]!;
  }

  get mark(): number {
    return this.#mark[this.#at()]!;
  }

  get birth(): number {
    return this.#birth[this.#at()]!;
  }

  #at(): number {
    return (this.#head + this.#sent) & (this.#kind.length - 1);
  }

  /** That packet is being sent; returns its sequence number. */
  again(): number {
    return (this.#first + this.#sent++) & (sequences - 1);
  }

  /** Forgets every packet up to this number; returns how many those were. */
  acknowledge(sequence: number): number {
    const done = (sequence - this.#first + 1) & (sequences - 1);
    // An old number lies behind the first one and so far ahead of the last.
    if (done > this.#count) return 0;
    for (let i = 0; i < done; i++) {
      this.#bytes -= this.#bytesOf[this.#kind[this.#head]!]!;
      this.#head = (this.#head + 1) & (this.#kind.length - 1);
    }
    this.#count -= done;
    this.#sent = Math.max(0, this.#sent - done);
    this.#first = (this.#first + done) & (sequences - 1);
    return done;
  }

  shift(ticks: number): void {
    this.#each((at) => {
      this.#birth[at]! += ticks;
    });
  }

  save(to: StateWriter): void {
    to.numbers([this.#count, this.#sent, this.#first]);
    this.#each((at) => to.numbers([this.#kind[at]!, this.#mark[at]!, this.#birth[at]!]));
  }

  load(from: StateReader): void {
    this.#head = 0;
    this.#count = 0;
    this.#bytes = 0;
    const count = from.number();
    const sent = from.number();
    this.#first = from.number();
    for (let i = 0; i < count; i++) this.push(from.number(), from.number(), from.number());
    this.#sent = sent;
  }

  /** Numbers by themselves decide nothing: only how far apart both ends are, which `DataLink` writes. */
  relative(to: StateWriter, now: number): void {
    to.numbers([this.#count, this.#sent]);
    this.#each((at) => to.numbers([this.#kind[at]!, this.#mark[at]!, this.#birth[at]! - now]));
  }

  /** How far a sequence number lies behind the first packet kept, modulo 4096. */
  behind(sequence: number): number {
    return (this.#first - sequence) & (sequences - 1);
  }

  #each(visit: (at: number) => void): void {
    for (let i = 0; i < this.#count; i++) visit((this.#head + i) & (this.#kind.length - 1));
  }
}
