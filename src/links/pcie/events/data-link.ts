/**
 * Acknowledged transport of one direction: what the sender keeps and sends again, what the receiver takes
 * and asks for (SPEC 6.3 §3.6.2, §3.6.3). One object for both ends, because the packets of one direction
 * decide the state of both; the Acks and Naks travel on the other wire.
 */
import type { Kernel, StateReader, StateWriter, Timer } from '../../../kernel/index.ts';
import { replaysWithoutProgress } from '../../../standards/pcie-replay-buffer.ts';
import type { CounterSnapshot, EventState, OwnState } from '../../event-state.ts';
import type { ReplayCounts } from '../../events.ts';
import type { ReplayRules } from '../config.ts';
import { ReplayBuffer, sequences, sequenceWindow } from './replay-buffer.ts';
import { LinkWaits } from './waits.ts';

/** What the two wires do for it. */
export interface LinkWires {
  /** Charges idle time of the wire of the packets up to now. */
  settle(): void;
  /** That wire may have something to send. */
  kick(): void;
  /** An Ack, or a Nak, is ready to go on the other wire. */
  answer(): void;
}

/** Places in the numbers. */
/** Sequence number of the packet on the wire, or -1; whether the receiver will take it. */
const ON_WIRE = 0;
const GOOD = 1;
const HIT = 2;
/** NEXT_RCV_SEQ and NAK_SCHEDULED. */
const EXPECTED = 3;
const NAK_SCHEDULED = 4;
/** 1 while a Nak is ready and waits for the other wire. */
const NAK_DUE = 5;
/** REPLAY_NUM. */
const REPLAY_NUM = 6;
/** What the Ack or Nak on the other wire says, or -1. */
const ANSWER = 7;
const numbers = 8;

/** Places in the counters. */
const ERRORS = 0;
const NAKS = 1;
const TIMEOUTS = 2;
const RETRAINED = 3;
const DISCARDED = 4;

export class DataLink implements OwnState {
  readonly buffer: ReplayBuffer;
  readonly #wires: LinkWires;
  readonly #rules: ReplayRules;
  readonly #timer: Timer;
  readonly #ackTimer: Timer;
  readonly #nakTimer: Timer;
  readonly #n = new Int32Array(numbers);
  readonly waits: LinkWaits;
  readonly #counts: Float64Array;

  /**
   * @param bytesOf bytes by kind of packet
   * @param streams how many streams the wire carries
   * @param ackLate the Ack timer has run out
   */
  constructor(
    { kernel, state }: { readonly kernel: Kernel; readonly state: EventState },
    rules: ReplayRules,
    bytesOf: Int32Array,
    streams: number,
    wires: LinkWires,
    ackLate: () => void,
  ) {
    this.#wires = wires;
    this.#rules = rules;
    this.buffer = state.own(new ReplayBuffer(rules.packets, rules.bytes, bytesOf));
    state.own(this);
    this.#timer = kernel.timer(kernel.register(() => this.#expired()));
    this.#ackTimer = kernel.timer(kernel.register(ackLate));
    this.#nakTimer = kernel.timer(kernel.register(() => this.#nakReady()));
    this.#n[ON_WIRE] = -1;
    this.#n[ANSWER] = -1;
    this.waits = new LinkWaits(kernel, state, streams, wires.settle);
    this.#counts = state.counters(5);
  }

  // The sender.

  /**
   * A packet starts; it is known already whether an error will hit it.
   * @returns whether the receiver will take it
   */
  starts(sequence: number, hit: boolean): boolean {
    const n = this.#n;
    const ahead = (sequence - n[EXPECTED]!) & (sequences - 1);
    const good = !hit && ahead === 0;
    n[ON_WIRE] = sequence;
    n[HIT] = hit ? 1 : 0;
    n[GOOD] = good ? 1 : 0;
    if (hit) this.disturb();
    // An old packet sent again in vain was taken before: nothing is lost with it.
    const old = ahead >= sequenceWindow;
    if (good) this.waits.repeated();
    else if (!old) this.waits.lost();
    return good;
  }

  /** An error hits a packet, or an Ack or Nak for this direction. */
  disturb(): void {
    this.#counts[ERRORS]!++;
    this.waits.disturb();
  }

  /** An Ack, or a Nak, has passed the other wire; a hit one is lost. */
  answered(nak: boolean, hit: boolean): void {
    const n = this.#n;
    const sequence = n[ANSWER]!;
    n[ANSWER] = -1;
    if (hit) return;
    this.#wires.settle();
    if (this.buffer.acknowledge(sequence) > 0) {
      n[REPLAY_NUM] = 0;
      this.waits.progress();
      this.#timer.cancel();
      if (this.buffer.size > 0) this.#timer.setAfter(this.#rules.timerTicks);
    }
    if (nak) {
      this.#counts[NAKS]!++;
      this.#replay();
    }
    this.#wires.kick();
  }

  #expired(): void {
    this.#wires.settle();
    this.#counts[TIMEOUTS]!++;
    this.#replay();
    this.#wires.kick();
  }

  #replay(): void {
    if (this.buffer.size === 0) return;
    const n = this.#n;
    this.waits.disturb();
    this.#timer.cancel();
    this.buffer.rewind();
    if (n[REPLAY_NUM]! < replaysWithoutProgress) n[REPLAY_NUM]!++;
    else {
      n[REPLAY_NUM] = 0;
      this.#counts[RETRAINED]!++;
    }
  }

  // The receiver.

  /** An Ack or Nak starts: it says the number of the last packet taken. */
  answers(nak: boolean): void {
    const n = this.#n;
    n[ANSWER] = (n[EXPECTED]! - 1) & (sequences - 1);
    if (nak) n[NAK_DUE] = 0;
  }

  /** 1 while a Nak is ready and waits for the other wire. */
  get nakDue(): number {
    return this.#n[NAK_DUE]!;
  }

  /**
   * The packet on the wire has arrived whole.
   * @returns `taken`; `old` for one that was taken before and is acknowledged once more; `bad`
   */
  ends(): 'taken' | 'old' | 'bad' {
    const n = this.#n;
    const sequence = n[ON_WIRE]!;
    n[ON_WIRE] = -1;
    if (this.buffer.size > 0 && !this.#timer.pending) {
      this.#timer.setAfter(this.#rules.timerTicks);
    }
    if (n[GOOD] === 1) {
      n[EXPECTED] = (sequence + 1) & (sequences - 1);
      this.#clearNak();
      return 'taken';
    }
    this.#counts[DISCARDED]!++;
    const ahead = (sequence - n[EXPECTED]!) & (sequences - 1);
    if (n[HIT] === 0 && ahead >= sequenceWindow) return 'old';
    if (n[NAK_SCHEDULED] === 0) {
      n[NAK_SCHEDULED] = 1;
      this.#nakTimer.setAfter(this.#rules.nakTicks);
    }
    return 'bad';
  }

  #clearNak(): void {
    const n = this.#n;
    if (n[NAK_SCHEDULED] === 0) return;
    n[NAK_SCHEDULED] = 0;
    n[NAK_DUE] = 0;
    this.#nakTimer.cancel();
  }

  #nakReady(): void {
    this.#n[NAK_DUE] = 1;
    this.#wires.answer();
  }

  /** Packets wait for their Ack from now on, if not before; or none does. */
  ackWaits(waits: boolean): void {
    if (!waits) this.#ackTimer.cancel();
    else if (!this.#ackTimer.pending) this.#ackTimer.setAfter(this.#rules.ackTicks);
  }

  // State and counts.

  counted(counted: CounterSnapshot): ReplayCounts {
    const counts = counted.of(this.#counts);
    return {
      errors: counts[ERRORS]!,
      naks: counts[NAKS]!,
      timeouts: counts[TIMEOUTS]!,
      retrained: counts[RETRAINED]!,
      discarded: counts[DISCARDED]!,
    };
  }

  shift(): void {}

  save(to: StateWriter): void {
    to.numbers(this.#n);
  }

  load(from: StateReader): void {
    from.numbers(this.#n);
  }

  /** Sequence numbers count from the first packet kept: only how far apart they are matters. */
  relative(to: StateWriter): void {
    const n = this.#n;
    to.number(n[ON_WIRE]! < 0 ? -1 : this.buffer.behind(n[ON_WIRE]!));
    to.number(this.buffer.behind(n[EXPECTED]!));
    to.number(n[ANSWER]! < 0 ? -1 : this.buffer.behind(n[ANSWER]!));
    for (let i = 0; i < numbers; i++) {
      if (i !== ON_WIRE && i !== EXPECTED && i !== ANSWER) to.number(n[i]!);
    }
  }
}
