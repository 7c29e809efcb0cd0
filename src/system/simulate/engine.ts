/**
 * An engine: it sends the packets of its streams one after another with its pauses. Streams of one engine
 * take turns in proportion to their needs. Rules are in docs/simulator.md.
 */
import type { Kernel } from '../../kernel/index.ts';
import type { Causes } from '../../links/causes.ts';
import { type EventState, never } from '../../links/event-state.ts';
import { endsTransfer, type Source, type Transmitter } from '../../links/events.ts';
import { accountIndex } from '../../model/accounts.ts';
import type { EnginePauses } from '../network.ts';
import type { Gate } from './gate.ts';
import { type Program, step } from './program.ts';
import { type InOrder, numberShift, type ReadsOut } from './reads-out.ts';

/** What an engine has to know of one of its streams. */
export interface EngineStream {
  /** Number of the stream. */
  readonly stream: number;
  readonly program: Program;
  readonly pauses: EnginePauses;
  readonly gates: readonly Gate[];
  readonly reads: ReadsOut | undefined;
  /** Which reads are out, where their answers may come in another order. */
  readonly order?: InOrder;
  /** With `order`: a request counts as outstanding until all before it have been answered too. */
  readonly inOrder?: boolean;
  /** Kind of packet to what it takes of the stream's share. */
  readonly cost: Float64Array;
}

/** What an engine does. */
const waiting = 0;
const offering = 1;
const sending = 2;
const pausing = 3;

/** Places in the numbers of an engine. */
const STATE = 0;
const CHOSEN = 1;
/** What a pause is for. */
const PAUSE = 2;
const gap = 0;
const setUp = 1;
const powerExit = 2;
/** Flags of the step on the wire. */
const FLAGS = 3;

/** Places in the numbers of each stream. */
const STEP = 0;
/** Set-ups that the engine still has to do: one for each transfer sent, or read in full. */
const OWED = 1;
/** Requests that the last set-up was for and that are still to be sent. */
const PREPARED = 2;
const places = 3;

/** Packets that an engine prepares ahead while others have the wire. */
const ahead = 8;

const [GAP, SET, EXIT, CREDIT, REQUEST] = [
  accountIndex.source_gap,
  accountIndex.setup,
  accountIndex.power_exit,
  accountIndex.credit_stall,
  accountIndex.request_stall,
];

export class Engine implements Source {
  readonly streams: readonly EngineStream[];
  readonly #kernel: Kernel;
  readonly #causes: Causes;
  readonly #to: Transmitter;
  readonly #pauseKind: number;
  readonly #wakeKind: number;
  readonly #n: Int32Array;
  readonly #of: Int32Array;
  /** When the pause ends and when a server frees the engine. */
  readonly #until: Float64Array;
  /** Since when the present packet is offered, and since when it lacks credits. */
  readonly #since: Float64Array;
  /** Ticks that the engine is ahead of the wire: it prepared while others had the wire. */
  readonly #debt: Float64Array;
  /** Used share of each stream beyond that of the one served last. */
  readonly #share: Float64Array;
  readonly #debtMost: number;

  constructor(
    streams: readonly EngineStream[],
    to: Transmitter,
    { kernel, state, causes }: { kernel: Kernel; state: EventState; causes: Causes },
  ) {
    this.streams = streams;
    this.#kernel = kernel;
    this.#causes = causes;
    this.#to = to;
    this.#n = state.numbers(4);
    this.#of = state.numbers(places * streams.length);
    this.#until = state.futureTimes(2);
    this.#since = state.pastTimes(2);
    this.#debt = state.wide(1);
    this.#share = state.wide(streams.length);
    this.#pauseKind = kernel.register(() => this.#pauseOver());
    this.#wakeKind = kernel.register(() => this.#awake());
    for (const { reads } of streams) reads?.add(this);
    const longest = streams.map(({ program, pauses }) => {
      const packets = program.kinds.reduce((most, kind) => Math.max(most, to.ticks[kind]!), 0);
      return packets + pauses.perPacket + pauses.perChunk;
    });
    this.#debtMost = ahead * Math.max(...longest);
    to.addSource(this);
    kernel.schedule(kernel.now, this.#wakeKind);
  }

  /** The engine looks again at what it may send; called when anything that held it is over. */
  update(): void {
    const n = this.#n;
    if (n[STATE]! >= sending) return;
    if (n[STATE] === offering && this.streams.length === 1) return;
    if (n[STATE] === waiting && this.#setsUp()) return;
    const i = this.#choose(false);
    if (i < 0) {
      n[STATE] = waiting;
      this.#waitFor();
      return;
    }
    if (n[STATE] !== offering) {
      n[STATE] = offering;
      this.#since[0] = this.#kernel.now;
    }
    n[CHOSEN] = i;
    this.#causes.clear(this.streams[i]!.stream);
    this.#to.kick();
  }

  /** The stream with the least of its share used that may send, or -1. */
  #choose(credits: boolean): number {
    const { streams } = this;
    let best = -1;
    let least = 0;
    for (let i = 0; i < streams.length; i++) {
      if (this.#held(i) !== free) continue;
      if (credits && !this.#to.granted(this.#kind(i))) continue;
      const share = this.#share[i]!;
      if (best < 0 || share < least) {
        best = i;
        least = share;
      }
    }
    return best;
  }

  #kind(i: number): number {
    return this.streams[i]!.program.kinds[this.#of[places * i + STEP]!]!;
  }

  /** Account that holds a stream back, or `free`. */
  #held(i: number): number {
    const { program, reads, gates } = this.streams[i]!;
    const flags = program.flags[this.#of[places * i + STEP]!]!;
    if ((flags & step.data) === 0) return free;
    if ((flags & step.request) !== 0 && reads!.full) return REQUEST;
    for (let g = 0; g < gates.length; g++) {
      if (gates[g]!.free > this.#kernel.now) return gates[g]!.account;
    }
    return free;
  }

  /** Nothing may be sent: every stream says why, and a server that frees one wakes the engine. */
  #waitFor(): void {
    let earliest = Number.POSITIVE_INFINITY;
    for (let i = 0; i < this.streams.length; i++) {
      const { stream, gates } = this.streams[i]!;
      const held = this.#held(i);
      this.#causes.set(stream, held);
      if (held === REQUEST) continue;
      let free = 0;
      for (let g = 0; g < gates.length; g++) free = Math.max(free, gates[g]!.free);
      earliest = Math.min(earliest, free);
    }
    if (earliest === Number.POSITIVE_INFINITY) return;
    if (this.#until[1]! > this.#kernel.now && this.#until[1]! <= earliest) return;
    this.#until[1] = earliest;
    this.#kernel.schedule(earliest, this.#wakeKind);
    this.#to.quieted();
  }

  #awake(): void {
    this.update();
  }

  /** Begins a set-up that is owed; false when none is. */
  #setsUp(): boolean {
    for (let i = 0; i < this.streams.length; i++) {
      const at = places * i;
      if (this.#of[at + OWED] === 0) continue;
      const { pauses, stream, reads, program } = this.streams[i]!;
      // What is prepared goes first: else set-ups that pile up would hold all requests back at once.
      if (this.#of[at + PREPARED]! > 0 && this.#held(i) === free) continue;
      this.#of[at + OWED]!--;
      if (reads) this.#of[at + PREPARED] = program.dataPackets;
      this.#n[CHOSEN] = i;
      const setup = pauses.perTransfer - pauses.powerExit;
      if (setup > 0) this.#pause(stream, setUp, SET, setup);
      else this.#pause(stream, powerExit, EXIT, pauses.powerExit);
      return true;
    }
    return false;
  }

  #pause(stream: number, what: number, account: number, ticks: number): void {
    const n = this.#n;
    n[STATE] = pausing;
    n[PAUSE] = what;
    this.#causes.set(stream, account);
    this.#until[0] = this.#kernel.now + ticks;
    this.#kernel.schedule(this.#until[0]!, this.#pauseKind);
    this.#to.quieted();
  }

  #pauseOver(): void {
    const n = this.#n;
    const i = n[CHOSEN]!;
    const { pauses, stream } = this.streams[i]!;
    if (n[PAUSE] === setUp && pauses.powerExit > 0) {
      this.#pause(stream, powerExit, EXIT, pauses.powerExit);
      return;
    }
    this.#causes.clear(stream);
    n[STATE] = waiting;
    this.update();
  }

  head(): number {
    const n = this.#n;
    if (n[STATE] !== offering) return -1;
    const i = n[CHOSEN]!;
    if (this.#to.granted(this.#kind(i))) return this.#kind(i);
    const other = this.streams.length > 1 ? this.#choose(true) : -1;
    if (other >= 0) {
      n[CHOSEN] = other;
      return this.#kind(other);
    }
    if (this.#since[1] === never) this.#since[1] = this.#kernel.now;
    this.#causes.set(this.streams[i]!.stream, CREDIT);
    return -1;
  }

  take(to: Transmitter): void {
    const n = this.#n;
    const i = n[CHOSEN]!;
    const at = places * i;
    const { program, stream, gates, reads, order, cost, pauses } = this.streams[i]!;
    const kind = program.kinds[this.#of[at + STEP]!]!;
    const flags = program.flags[this.#of[at + STEP]!]!;
    this.#of[at + STEP] = (this.#of[at + STEP]! + 1) % program.kinds.length;
    to.mark = (flags & step.endsData) !== 0 ? endsTransfer : 0;
    to.birth = this.#since[0]!;
    this.#causes.clear(stream);
    this.#countWait();
    if ((flags & step.data) !== 0) {
      for (let g = 0; g < gates.length; g++) gates[g]!.pass(stream, this.#kernel.now);
    }
    if ((flags & step.request) !== 0) {
      reads!.begin();
      if (this.#of[at + PREPARED]! > 0) this.#of[at + PREPARED]!--;
      if (order) to.mark |= order.send(to.mark !== 0) << numberShift;
    }
    if (pauses.perTransfer > 0 && !reads && (flags & step.endsTransfer) !== 0) {
      this.#of[at + OWED]!++;
    }
    this.#serve(i, cost[kind]!);
    n[STATE] = sending;
    n[FLAGS] = flags;
  }

  /** While others had the wire the engine prepared what comes next, up to some packets. */
  #countWait(): void {
    const { now } = this.#kernel;
    const offered = this.#since[0]!;
    const stalled = this.#since[1]!;
    this.#since[0] = never;
    this.#since[1] = never;
    if (now === offered) return;
    const until = stalled === never ? now : stalled;
    const others = until - offered - this.#to.compensatedSince(offered);
    if (others > 0) this.#debt[0] = Math.min(this.#debtMost, this.#debt[0]! + others);
  }

  #serve(i: number, cost: number): void {
    if (this.streams.length === 1) return;
    const share = this.#share;
    const present = share[i]!;
    for (let k = 0; k < share.length; k++) share[k] = Math.max(0, share[k]! - present);
    share[i] = cost;
  }

  ended(): void {
    const n = this.#n;
    const { pauses, stream } = this.streams[n[CHOSEN]!]!;
    const flags = n[FLAGS]!;
    n[FLAGS] = 0;
    let pause = 0;
    if ((flags & step.data) !== 0) pause += pauses.perPacket;
    if ((flags & step.endsChunk) !== 0) pause += pauses.perChunk;
    const saved = Math.min(pause, this.#debt[0]!);
    this.#debt[0]! -= saved;
    n[STATE] = waiting;
    if (pause > saved) this.#pause(stream, gap, GAP, pause - saved);
    else this.update();
  }

  quietUntil(): number {
    const n = this.#n;
    if (n[STATE] === pausing) {
      const more = n[PAUSE] === setUp ? this.streams[n[CHOSEN]!]!.pauses.powerExit : 0;
      return this.#until[0]! + more;
    }
    const gated = n[STATE] === waiting && !this.streams.some((_, i) => this.#held(i) === REQUEST);
    return gated ? Math.max(this.#kernel.now, this.#until[1]!) : this.#kernel.now;
  }

  /** The last answer to a request of a stream has arrived, with the request's mark. */
  answered(stream: number, mark: number): void {
    let i = 0;
    while (this.streams[i]!.stream !== stream) i++;
    const { pauses, reads, order, inOrder } = this.streams[i]!;
    let transfers = (mark & endsTransfer) !== 0 ? 1 : 0;
    let over = 1;
    if (order) {
      const done = order.arrive(mark >> numberShift);
      if (inOrder) over = done;
      transfers = order.transfers;
    }
    if (pauses.perTransfer > 0) this.#of[places * i + OWED]! += transfers;
    reads!.end(over);
  }
}

/** Nothing holds the stream: no account has this number. */
const free = -1;
