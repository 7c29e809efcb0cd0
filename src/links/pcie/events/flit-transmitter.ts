/**
 * One direction of a link in flit mode. Packets follow each other in the slots of `flit-slots.ts`, any
 * double word behind the one before, or at a multiple of 16 bytes where NOP packets came between; they
 * arrive when the flit with their last byte has arrived whole. Rules are in docs/simulator.md.
 */
import type { DelayLine, Kernel } from '../../../kernel/index.ts';
import { accountCount, accountIndex } from '../../../model/accounts.ts';
import { heldBy } from '../../../model/attribution.ts';
import type { Causes, Idler } from '../../causes.ts';
import { type CounterSnapshot, never } from '../../event-state.ts';
import type {
  CreditPeak,
  LinkRequest,
  PacketKind,
  ReplayCounts,
  Sink,
  Source,
  Transmitter,
  WireUse,
} from '../../events.ts';
import { noCharge, ticksPerByte } from '../charge.ts';
import type { PcieConfig } from '../config.ts';
import { Choice } from './choice.ts';
import { CreditPool } from './credits.ts';
import { BitErrors } from './errors.ts';
import { FlitPackets } from './flit-packets.ts';
import { FlitReplay } from './flit-replay.ts';
import { FlitSlots } from './flit-slots.ts';
import { flitReplayRules } from './replay-rules.ts';

/** What is on the wire. */
const nothing = 0;
const packet = 1;
const repeated = 2;
const compensating = 3;

/** Places in the numbers. */
const ON_WIRE = 0;
/** What sources and sinks see: of a packet that is taken over, or of one that arrives. */
const KIND = 1;
const MARK = 2;
/** Kind, mark and source of the packet in progress, and bytes of it for later flits. */
const OWN_KIND = 3;
const OWN_MARK = 4;
const SOURCE = 5;
const REST = 6;
/** 1 while the flit of this slot has bytes of packets. */
const OPEN = 7;
/** 1 once the source of the packet in progress goes on. */
const HANDED = 8;
/** Packets that have not arrived. */
const UNDER_WAY = 9;
const numbers = 10;

/** Places in the times: ends of what is on the wire, of the flit and of the last packet; next look. */
const UNTIL = 0;
const FLIT_END = 1;
const FREE = 2;
const WAKE = 3;

/** Places in the list of what is only counted. */
const SENT_SETS = 0;
const REPLAYED = 1;

export class FlitTransmitter implements Transmitter, Idler {
  readonly index: number;
  readonly ticks: Float64Array;

  readonly #kernel: Kernel;
  readonly #causes: Causes;
  readonly #sink: Sink;
  readonly #kinds: readonly (PacketKind | undefined)[];
  readonly #bytes: Int32Array;
  readonly #carries: Int32Array;
  readonly #scale: number;
  readonly #slots: FlitSlots;
  readonly #choice: Choice;
  readonly #credits: CreditPool;
  readonly #returns: DelayLine;
  readonly #arriving: FlitPackets;
  readonly #replay: FlitReplay | undefined;
  readonly #endKind: number;
  readonly #flitKind: number;
  readonly #setKind: number;
  readonly #setOverKind: number;
  readonly #wakeKind: number;
  readonly #handedKind: number;
  readonly #backKind: number;

  readonly #n: Int32Array;
  readonly #times: Float64Array;
  /** Births of what sources and sinks see, and of the packet in progress. */
  readonly #births: Float64Array;
  readonly #settled: Float64Array;
  /** Fill behind the last packet that is not charged yet, and ticks to the next error. */
  readonly #left: Float64Array;
  readonly #counts: Float64Array;
  readonly #own: Float64Array;
  readonly #idle: Float64Array;
  readonly #peak: Float64Array;

  constructor(request: LinkRequest<PcieConfig>, direction: 'up' | 'down') {
    const { kernel, state, causes, config, scale, sink } = request;
    this.index = request.index + (direction === 'up' ? 0 : 1);
    this.#kernel = kernel;
    this.#causes = causes;
    this.#sink = sink;
    this.#scale = scale;
    this.#kinds = request.kinds[direction];
    this.#carries = Int32Array.from(request.carries[direction]);
    this.ticks = Float64Array.from(this.#kinds, (kind) => (kind?.ticks ?? 0) * scale);
    const byte = ticksPerByte(config);
    this.#bytes = Int32Array.from(this.#kinds, (kind) => (kind?.ticks ?? 0) / byte);
    const receiver = direction === 'up' ? config.rootSide : config.moduleSide;
    this.#slots = new FlitSlots(config, scale, kernel, state);
    this.#choice = state.own(new Choice(this.#kinds, request.arbitration));
    this.#credits = new CreditPool(receiver, this.#kinds, state);
    this.#returns = kernel.delayLine(receiver.creditReturnTicks * scale);
    this.#arriving = state.own(new FlitPackets());
    this.#endKind = kernel.register(() => this.#ends());
    this.#flitKind = kernel.register(() => this.#flitEnds());
    this.#setKind = kernel.register(() => this.#setStarts());
    this.#setOverKind = kernel.register(() => this.#over());
    this.#wakeKind = kernel.register(() => this.kick());
    this.#handedKind = kernel.register(() => this.#handOver());
    this.#backKind = kernel.register((kind) => this.#creditsBack(kind));
    this.#n = state.numbers(numbers);
    this.#times = state.futureTimes(4);
    this.#births = state.pastTimes(2);
    this.#settled = state.marks(1);
    this.#left = state.wide(2);
    this.#counts = state.counters(this.#kinds.length);
    this.#own = state.counters(2);
    this.#idle = state.counters(accountCount);
    this.#peak = state.peaks(1);
    this.#replay = this.#replayOf(request, direction);
    causes.watch(request.carries[direction], this);
    kernel.schedule(this.#slots.flits, this.#setKind);
  }

  #replayOf(
    { kernel, state, config, scale, errors }: LinkRequest<PcieConfig>,
    direction: 'up' | 'down',
  ): FlitReplay | undefined {
    const rules = flitReplayRules(config);
    if (!rules) return undefined;
    const scaled = { ...rules, nakTicks: rules.nakTicks * scale };
    const own = errors?.[direction] ?? BitErrors.of(config, scale, kernel, this.#left);
    const other = direction === 'up' ? 'down' : 'up';
    const back = errors?.[other] ?? BitErrors.of(config, scale, kernel, state.wide(2));
    const wires = { settle: () => this.settle(), kick: () => this.kick() };
    const streams = this.#carries.length;
    return new FlitReplay({ kernel, state }, this.#slots, scaled, streams, own, back, wires);
  }

  get kind(): number {
    return this.#n[KIND]!;
  }

  get mark(): number {
    return this.#n[MARK]!;
  }

  set mark(mark: number) {
    this.#n[MARK] = mark;
  }

  get birth(): number {
    return this.#births[0]!;
  }

  set birth(time: number) {
    this.#births[0] = time;
  }

  get sending(): boolean {
    return this.#n[ON_WIRE] === packet;
  }

  get unacknowledged(): number {
    return this.#n[UNDER_WAY]!;
  }

  /** Sets go between flits whatever is under way: an engine works ahead through them as through others. */
  compensatedSince(): number {
    return 0;
  }

  addSource(source: Source): void {
    this.#choice.sources.push(source);
  }

  granted(kind: number): boolean {
    return this.#credits.has(kind);
  }

  release(kind: number): void {
    this.#returns.send(this.#backKind, kind);
  }

  kick(): void {
    if (this.#n[ON_WIRE] === nothing) this.#next();
  }

  quieted(): void {}

  settle(): void {
    if (this.#n[ON_WIRE] !== nothing) return;
    const { now } = this.#kernel;
    let idle = now - this.#settled[0]!;
    if (idle === 0) return;
    this.#settled[0] = now;
    const filled = Math.min(idle, this.#left[0]!);
    if (filled > 0) {
      this.#left[0]! -= filled;
      this.#idle[accountIndex.padding]! += filled;
      idle -= filled;
    }
    const { arisen, charged } = this.#causes;
    const held = this.#replay
      ? this.#replay.waits.heldBy(this.#causes, this.#carries)
      : heldBy(arisen, charged, this.#carries);
    this.#idle[held]! += idle;
  }

  /** The wire is free: what is to be sent again, the rest of a packet, another packet. */
  #next(): void {
    const n = this.#n;
    const { now } = this.#kernel;
    // At the end of a flit its own event comes, and in a set the end of the set.
    if (n[OPEN] === 1 && this.#times[FLIT_END] === now) return;
    const start = this.#slot();
    if (start > now) return;
    if (this.#replay?.replaying()) {
      if (n[OPEN] === 0) this.#inSlot(start, true);
      return;
    }
    if (n[REST]! > 0) {
      this.#inSlot(start, false);
      return;
    }
    const source = this.#choice.ready();
    if (source < 0) return;
    const at = this.#times[FREE] === now ? now : this.#slots.aligned(start);
    if (at > now) this.#wake(at);
    else if (this.#opens()) this.#start(source);
  }

  /** Start of the present slot, or of the next one in a set. */
  #slot(): number {
    if (this.#n[OPEN] === 1) return this.#times[FLIT_END]! - this.#slots.flit;
    return this.#slots.start(this.#kernel.now);
  }

  /** What goes from the start of a slot on. */
  #inSlot(start: number, again: boolean): void {
    if (start < this.#kernel.now) this.#wake(this.#slots.next(this.#kernel.now));
    else if (again) this.#sendAgain();
    else if (this.#opens()) this.#go();
  }

  /** Whether bytes of packets may go into this slot's flit. */
  #opens(): boolean {
    return this.#n[OPEN] === 1 || !this.#replay || this.#replay.room();
  }

  #wake(at: number): void {
    if (this.#times[WAKE]! > this.#kernel.now && this.#times[WAKE]! <= at) return;
    this.#times[WAKE] = at;
    this.#kernel.schedule(at, this.#wakeKind);
  }

  #start(place: number): void {
    const n = this.#n;
    const source = this.#choice.sources[place]!;
    const kind = source.head();
    this.settle();
    n[KIND] = kind;
    source.take(this);
    this.#choice.served(place, kind);
    this.#credits.take(kind);
    this.#counts[kind]!++;
    const waiting = ++n[UNDER_WAY]!;
    if (waiting > this.#peak[0]!) this.#peak[0] = waiting;
    n[OWN_KIND] = kind;
    n[OWN_MARK] = n[MARK]!;
    n[SOURCE] = place;
    n[HANDED] = 0;
    this.#births[1] = this.#births[0]!;
    this.#births[0] = never;
    n[REST] = this.#bytes[kind]!;
    this.#go();
  }

  /** The packet goes on, as far as this flit has room. */
  #go(): void {
    const n = this.#n;
    const { now } = this.#kernel;
    this.settle();
    if (n[OPEN] === 0) {
      this.#replay?.open();
      this.#open(this.#slot() + this.#slots.flit);
    }
    const { byte } = this.#slots;
    const bytes = Math.min(n[REST]!, (this.#times[FLIT_END]! - now) / byte);
    n[REST]! -= bytes;
    n[ON_WIRE] = packet;
    this.#left[0] = 0;
    this.#times[UNTIL] = now + bytes * byte;
    if (n[REST]! > 0) return;
    const flit = this.#replay?.current ?? 0;
    this.#arriving.push(n[OWN_KIND]!, n[OWN_MARK]!, this.#births[1]!, flit);
    this.#kernel.schedule(this.#times[UNTIL]!, this.#endKind);
  }

  #open(end: number): void {
    this.#n[OPEN] = 1;
    this.#times[FLIT_END] = end;
    this.#kernel.schedule(end, this.#flitKind);
  }

  #sendAgain(): void {
    this.settle();
    this.#replay!.again();
    const { flit } = this.#slots;
    const end = this.#kernel.now + flit;
    this.#open(end);
    this.#n[ON_WIRE] = repeated;
    this.#left[0] = 0;
    this.#times[UNTIL] = end;
    this.#own[REPLAYED]! += flit / this.#scale;
  }

  /** The last byte of a packet is in its flit. */
  #ends(): void {
    this.#handOver();
    this.#births[1] = never;
    this.#times[FREE] = this.#kernel.now;
    // The flit with its last byte is open.
    this.#left[0] = this.#slots.fill(this.#slot());
    this.#over();
  }

  #handOver(): void {
    const n = this.#n;
    if (n[HANDED] === 1) return;
    n[HANDED] = 1;
    this.#choice.sources[n[SOURCE]!]!.ended();
  }

  #over(): void {
    this.#settled[0] = this.#kernel.now;
    this.#n[ON_WIRE] = nothing;
    this.#next();
  }

  /** A flit has arrived whole: the receiver takes the packets that end in it. */
  #flitEnds(): void {
    const n = this.#n;
    n[OPEN] = 0;
    if (!this.#replay || this.#replay.ends()) this.#deliver();
    const on = n[ON_WIRE]!;
    if (on === repeated || (on === packet && n[REST]! > 0)) this.#over();
    else if (on === nothing) this.#next();
  }

  #deliver(): void {
    const n = this.#n;
    const arriving = this.#arriving;
    const flit = this.#replay?.current ?? 0;
    while (arriving.size > 0 && arriving.flit === flit) {
      const { kind } = arriving;
      n[KIND] = kind;
      n[MARK] = arriving.mark;
      this.#births[0] = arriving.birth;
      arriving.pop();
      n[UNDER_WAY]!--;
      if (this.#sink.arrived(this)) this.release(kind);
    }
    this.#births[0] = never;
  }

  /** The flits between two sets are over. */
  #setStarts(): void {
    const n = this.#n;
    const { now } = this.#kernel;
    const flitToEnd = n[OPEN] === 1 && this.#times[FLIT_END] === now;
    if (flitToEnd || (n[ON_WIRE] === packet && n[REST] === 0)) {
      // A flit or packet that ends now ends first.
      this.#kernel.schedule(now, this.#setKind);
      return;
    }
    this.settle();
    n[ON_WIRE] = compensating;
    this.#own[SENT_SETS]!++;
    this.#left[0] = 0;
    const { set, interval, byte } = this.#slots;
    this.#times[UNTIL] = now + set;
    this.#kernel.schedule(now + set, this.#setOverKind);
    this.#kernel.schedule(now + interval, this.#setKind);
    if (n[REST]! > 0 && n[HANDED] === 0) {
      // Its source is through when it would have been without the set.
      this.#kernel.schedule(now + n[REST]! * byte, this.#handedKind);
    }
  }

  #creditsBack(kind: number): void {
    this.#credits.give(kind);
    this.kick();
  }

  occupied(counted: CounterSnapshot): WireUse[] {
    const uses: WireUse[] = [];
    const counts = counted.of(this.#counts);
    this.#kinds.forEach((kind, k) => {
      if (kind && counts[k]! > 0) {
        uses.push({ charges: kind.charges, count: counts[k]!, stream: kind.stream });
      }
    });
    const own = counted.of(this.#own);
    const more = [
      { charges: this.#single('clock_compensation', this.#slots.set), count: own[SENT_SETS]! },
      { charges: this.#single('replay', this.#scale), count: own[REPLAYED]! },
    ];
    return [...uses, ...more.filter(({ count }) => count > 0)];
  }

  #single(account: 'clock_compensation' | 'replay', ticks: number): number[] {
    const charges = noCharge();
    charges[accountIndex[account]] = ticks / this.#scale;
    return charges;
  }

  replays(counted: CounterSnapshot): ReplayCounts | undefined {
    return this.#replay?.counted(counted);
  }

  idled(counted: CounterSnapshot): Float64Array {
    return counted.of(this.#idle);
  }

  /** A packet may be in progress and a set or a flit sent again on the wire: both are told as one. */
  passing(): { use: WireUse; elapsed: number } | undefined {
    const n = this.#n;
    const on = n[ON_WIRE]!;
    const charges = noCharge();
    const add = (more: readonly number[]) => {
      more.forEach((ticks, i) => {
        charges[i]! += ticks;
      });
    };
    const kind = this.#kinds[n[OWN_KIND]!];
    const carried = on === packet || n[REST]! > 0 ? kind : undefined;
    if (!carried && on === nothing) return undefined;
    if (carried) add(carried.charges);
    if (on === compensating) add(this.#single('clock_compensation', this.#slots.set));
    if (on === repeated) add(this.#single('replay', this.#slots.flit));
    const all = charges.reduce((sum, ticks) => sum + ticks, 0) * this.#scale;
    const onWire = on === nothing ? 0 : this.#times[UNTIL]! - this.#kernel.now;
    const use = { charges, count: 1, ...(carried ? { stream: carried.stream } : {}) };
    return { use, elapsed: all - onWire - n[REST]! * this.#slots.byte };
  }

  peaks(): { unacknowledged: number; credits: readonly CreditPeak[] } {
    return { unacknowledged: this.#peak[0]!, credits: this.#credits.peaks() };
  }
}
