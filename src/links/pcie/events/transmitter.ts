/**
 * One direction of a PCI Express link through time: the transmitter with its queues and ordered sets, and
 * the receiver that answers with Acks and credit updates on the reverse wire. Rules are in
 * docs/simulator.md; the closed form is not consulted.
 */
import type { DelayLine, Kernel, RandomStream } from '../../../kernel/index.ts';
import { accountCount, accountIndex } from '../../../model/accounts.ts';
import { heldBy } from '../../../model/attribution.ts';
import type { Causes, Idler } from '../../causes.ts';
import { type CounterSnapshot, never } from '../../event-state.ts';
import type {
  CreditPeak,
  LinkRequest,
  PacketKind,
  Sink,
  Source,
  Transmitter,
  WireUse,
} from '../../events.ts';
import { charge, compensation, family, fillTicks, noCharge, type Packet } from '../charge.ts';
import type { PcieConfig, Receiver } from '../config.ts';
import { Choice } from './choice.ts';
import { CreditPool } from './credits.ts';
import { errorDistance, meanBetweenErrors } from './errors.ts';

/** What is on the wire. */
const nothing = 0;
const packet = 1;
const ack = 2;
const update = 3;
const compensating = 4;

/** So many waiting link packets keep a packet from going between them. */
const linksMost = 4;

/** Places in the lists of numbers. */
const ON_WIRE = 0;
const KIND = 1;
const MARK = 2;
const SOURCE = 3;
/** Acks, credit updates and sets of clock compensation that wait to be sent. */
const ACKS = 4;
const UPDATES = 5;
const SETS = 6;
/** Packets received since the last Ack and the last update. */
const SINCE_ACK = 7;
const SINCE_UPDATE = 8;
/** Packets sent and not yet acknowledged. */
const UNACKNOWLEDGED = 9;
/** 1 while an event waits for the time at which the next link packet may start. */
const WAKING = 10;
const numbers = 11;

/** Places in the list of times. */
const UNTIL = 0;
const LINK_FROM = 1;

/** Places in the list of what is only counted. */
const SENT_ACKS = 0;
const SENT_UPDATES = 1;
const SENT_SETS = 2;
const REPLAYED = 3;

export class PcieTransmitter implements Transmitter, Idler {
  readonly index: number;
  readonly ticks: Float64Array;
  /** The other direction; its wire carries what this one's receiver returns. */
  reverse!: PcieTransmitter;

  readonly #kernel: Kernel;
  readonly #causes: Causes;
  readonly #sink: Sink;
  readonly #kinds: readonly (PacketKind | undefined)[];
  readonly #carries: Int32Array;
  readonly #scale: number;
  readonly #fill: Float64Array;
  readonly #choice: Choice;
  readonly #credits: CreditPool;
  readonly #returns: DelayLine;
  readonly #receiver: Receiver;
  /** Ticks of an Ack or update, and what the wire stands filled behind one; 0 in flits. */
  readonly #linkTicks: number;
  readonly #linkFill: number;
  readonly #linkCharges: Readonly<Record<'Ack' | 'UpdateFC', readonly number[]>>;
  readonly #interval: number;
  readonly #setTicks: number;
  readonly #replayTicks: number;
  readonly #meanBetweenErrors: number;
  readonly #random: RandomStream | undefined;
  readonly #answersUpdates: (kind: PacketKind) => boolean;
  readonly #endKind: number;
  readonly #dueKind: number;
  readonly #backKind: number;
  readonly #wakeKind: number;

  readonly #n: Int32Array;
  readonly #times: Float64Array;
  /** Since when the packet on the wire or waiting was wanted. */
  readonly #birth: Float64Array;
  /** When the last set of clock compensation started. */
  readonly #lastSet: Float64Array;
  /** Up to when idle time is charged. */
  readonly #settled: Float64Array;
  /**
   * Ticks of fill behind what was sent last that are not charged yet; ticks to the next error; ticks
   * that replays take of what is on the wire.
   */
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
    this.#fill = Float64Array.from(this.#kinds, (kind) => (kind?.fillTicks ?? 0) * scale);
    this.#receiver = direction === 'up' ? config.rootSide : config.moduleSide;
    const finite = (this.#receiver.completionHeaders ?? infinite) !== infinite;
    // Completions take no credit where they are granted without limit, so none comes back.
    this.#answersUpdates = ({ credit }) => credit !== 2 || finite;
    this.#choice = state.own(new Choice(this.#kinds, request.arbitration));
    this.#credits = new CreditPool(this.#receiver, this.#kinds, state);
    this.#returns = kernel.delayLine(this.#receiver.creditReturnTicks * scale);
    const flits = family(config) === '1b1b';
    this.#linkCharges = {
      Ack: linkCharges('Ack', config),
      UpdateFC: linkCharges('UpdateFC', config),
    };
    const link = this.#linkCharges.Ack.reduce((sum, ticks) => sum + ticks, 0);
    this.#linkTicks = flits ? 0 : link * scale;
    this.#linkFill = flits ? 0 : fillTicks(link, config) * scale;
    const { interval, lost } = compensation(config);
    this.#interval = interval * scale;
    this.#setTicks = lost * scale;
    this.#replayTicks = (config.replayTicks ?? 0) * scale;
    this.#meanBetweenErrors = meanBetweenErrors(config) * scale;
    this.#random = this.#meanBetweenErrors > 0 ? kernel.stream() : undefined;
    this.#endKind = kernel.register(() => this.#end());
    this.#dueKind = kernel.register(() => this.#due());
    this.#backKind = kernel.register((kind) => this.#creditsBack(kind));
    this.#wakeKind = kernel.register(() => this.#wake());
    this.#n = state.numbers(numbers);
    this.#times = state.futureTimes(2);
    this.#birth = state.pastTimes(1);
    this.#lastSet = state.pastTimes(1);
    this.#settled = state.marks(1);
    this.#left = state.wide(3);
    this.#counts = state.counters(this.#kinds.length);
    this.#own = state.counters(4);
    this.#idle = state.counters(accountCount);
    this.#peak = state.peaks(1);
    if (this.#random) this.#left[1] = errorDistance(this.#random, this.#meanBetweenErrors);
    causes.watch(request.carries[direction], this);
    kernel.schedule(this.#interval, this.#dueKind);
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
    return this.#birth[0]!;
  }

  set birth(time: number) {
    this.#birth[0] = time;
  }

  get sending(): boolean {
    return this.#n[ON_WIRE] === packet;
  }

  get unacknowledged(): number {
    return this.#n[UNACKNOWLEDGED]!;
  }

  compensatedSince(time: number): number {
    const start = this.#lastSet[0]!;
    if (start < 0) return 0;
    const end = Math.min(start + this.#setTicks, this.#kernel.now);
    return Math.max(0, end - Math.max(start, time));
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

  /** A set that is due need not wait for a packet when none will come while it is sent. */
  quieted(): void {
    if (this.#n[ON_WIRE] === nothing && this.#n[SETS]! > 0 && this.#quiet()) this.#sendSet();
  }

  settle(): void {
    if (this.#n[ON_WIRE] !== nothing) return;
    const now = this.#kernel.now;
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
    this.#idle[heldBy(arisen, charged, this.#carries)]! += idle;
  }

  /** What to send next; the wire is free. Link packets first, at most one begun in a symbol time. */
  #next(): void {
    const n = this.#n;
    const links = n[ACKS]! + n[UPDATES]!;
    if (links > 0 && this.#times[LINK_FROM]! <= this.#kernel.now) {
      this.#sendLink();
      return;
    }
    const source = links < linksMost ? this.#choice.ready() : -1;
    if (source >= 0) {
      this.#sendPacket(source);
      return;
    }
    if (links > 0 && n[WAKING] === 0) {
      n[WAKING] = 1;
      this.#kernel.schedule(this.#times[LINK_FROM]!, this.#wakeKind);
    }
  }

  #wake(): void {
    this.#n[WAKING] = 0;
    this.kick();
  }

  #begin(what: number, ticks: number, fill: number): void {
    this.settle();
    this.#n[ON_WIRE] = what;
    this.#left[0] = fill;
    this.#times[UNTIL] = this.#kernel.now + ticks;
    this.#kernel.schedule(this.#times[UNTIL]!, this.#endKind);
  }

  #sendLink(): void {
    const n = this.#n;
    const what = n[ACKS]! > 0 ? ack : update;
    n[what === ack ? ACKS : UPDATES]!--;
    this.#own[what === ack ? SENT_ACKS : SENT_UPDATES]!++;
    this.#begin(what, this.#linkTicks, this.#linkFill);
    this.#times[LINK_FROM] = this.#times[UNTIL]! + this.#linkFill;
  }

  #sendSet(): void {
    this.settle();
    this.#n[SETS]!--;
    this.#own[SENT_SETS]!++;
    this.#lastSet[0] = this.#kernel.now;
    // What the wire would be filled with behind the last packet stands behind the set.
    this.#begin(compensating, this.#setTicks, this.#left[0]!);
  }

  #sendPacket(place: number): void {
    const n = this.#n;
    const source = this.#choice.sources[place]!;
    const kind = source.head();
    n[KIND] = kind;
    n[SOURCE] = place;
    source.take(this);
    this.#choice.served(place, kind);
    this.#credits.take(kind);
    this.#counts[kind]!++;
    const waiting = ++n[UNACKNOWLEDGED]!;
    if (waiting > this.#peak[0]!) this.#peak[0] = waiting;
    const ticks = this.ticks[kind]!;
    const vain = this.#vain(ticks);
    this.#left[2] = vain;
    this.#begin(packet, ticks + vain, this.#fill[kind]!);
    this.#sink.started(this);
  }

  /** Ticks lost before a packet gets through: a replay for each error that hits it. */
  #vain(ticks: number): number {
    if (!this.#random) return 0;
    let vain = 0;
    this.#left[1]! -= ticks;
    while (this.#left[1]! <= 0) {
      vain += this.#replayTicks;
      this.#own[REPLAYED]!++;
      this.reverse.#owe(ACKS);
      this.#left[1]! += errorDistance(this.#random, this.#meanBetweenErrors);
    }
    return vain;
  }

  #end(): void {
    const n = this.#n;
    const what = n[ON_WIRE]!;
    this.#settled[0] = this.#kernel.now;
    if (what === packet) this.#received();
    else if (what === ack) this.reverse.#acknowledged();
    n[ON_WIRE] = nothing;
    this.#birth[0] = never;
    if (n[SETS]! > 0 && this.#setFollows(what)) this.#sendSet();
    else this.#next();
  }

  /** Whether a set that is due goes now: behind a packet, and behind a link packet if all is quiet. */
  #setFollows(what: number): boolean {
    return what === packet || what === compensating || this.#n[SETS]! > 1 || this.#quiet();
  }

  /** A packet is through: its source goes on, its receiver takes it, acknowledges and updates. */
  #received(): void {
    const n = this.#n;
    const kind = n[KIND]!;
    this.#choice.sources[n[SOURCE]!]!.ended();
    if (this.#sink.arrived(this)) this.release(kind);
    if (this.#linkTicks === 0) {
      n[UNACKNOWLEDGED]!--;
      return;
    }
    if (++n[SINCE_ACK]! >= this.#receiver.packetsPerAck) {
      n[SINCE_ACK] = 0;
      this.reverse.#owe(ACKS);
    }
    if (this.#receiver.packetsPerUpdate === infinite) return;
    if (!this.#answersUpdates(this.#kinds[kind]!)) return;
    if (++n[SINCE_UPDATE]! < this.#receiver.packetsPerUpdate) return;
    n[SINCE_UPDATE] = 0;
    this.reverse.#owe(UPDATES);
  }

  #owe(place: typeof ACKS | typeof UPDATES): void {
    if (this.#linkTicks === 0) return;
    this.#n[place]!++;
    this.kick();
  }

  #acknowledged(): void {
    const left = this.#n[UNACKNOWLEDGED]! - this.#receiver.packetsPerAck;
    this.#n[UNACKNOWLEDGED] = Math.max(0, left);
  }

  #creditsBack(kind: number): void {
    this.#credits.give(kind);
    this.kick();
  }

  /** A set is due: behind the packet on the wire, or at the latest when the next one is due too. */
  #due(): void {
    this.#kernel.scheduleAfter(this.#interval, this.#dueKind);
    const overdue = this.#n[SETS]!++ > 0;
    if (this.#n[ON_WIRE] === nothing && (overdue || this.#quiet())) this.#sendSet();
  }

  #quiet(): boolean {
    if (this.#n[ACKS]! + this.#n[UPDATES]! > 0) return false;
    const until = this.#kernel.now + this.#setTicks;
    const { sources } = this.#choice;
    for (let i = 0; i < sources.length; i++) if (sources[i]!.quietUntil() < until) return false;
    return true;
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
      { charges: this.#linkCharges.Ack, count: own[SENT_ACKS]! },
      { charges: this.#linkCharges.UpdateFC, count: own[SENT_UPDATES]! },
      { charges: this.#single('clock_compensation', this.#setTicks), count: own[SENT_SETS]! },
      { charges: this.#single('replay', this.#replayTicks), count: own[REPLAYED]! },
    ];
    return [...uses, ...more.filter(({ count }) => count > 0)];
  }

  #single(account: 'clock_compensation' | 'replay', ticks: number): number[] {
    const charges = noCharge();
    charges[accountIndex[account]] = ticks / this.#scale;
    return charges;
  }

  idled(counted: CounterSnapshot): Float64Array {
    return counted.of(this.#idle);
  }

  passing(): { use: WireUse; elapsed: number } | undefined {
    const what = this.#n[ON_WIRE]!;
    if (what === nothing) return undefined;
    const use = this.#useOf(what);
    const all = use.charges.reduce((sum, ticks) => sum + ticks, 0) * this.#scale;
    return { use, elapsed: all - (this.#times[UNTIL]! - this.#kernel.now) };
  }

  #useOf(what: number): WireUse {
    if (what === ack) return { charges: this.#linkCharges.Ack, count: 1 };
    if (what === update) return { charges: this.#linkCharges.UpdateFC, count: 1 };
    if (what === compensating) {
      return { charges: this.#single('clock_compensation', this.#setTicks), count: 1 };
    }
    const { charges, stream } = this.#kinds[this.#n[KIND]!]!;
    const replayed = this.#single('replay', this.#left[2]!);
    return { charges: charges.map((ticks, i) => ticks + replayed[i]!), count: 1, stream };
  }

  peaks(): { unacknowledged: number; credits: readonly CreditPeak[] } {
    return { unacknowledged: this.#peak[0]!, credits: this.#credits.peaks() };
  }
}

const infinite = Number.POSITIVE_INFINITY;

function linkCharges(kind: 'Ack' | 'UpdateFC', config: PcieConfig): number[] {
  const charges = noCharge();
  const one: Packet = { kind, wideAddress: false, payloadBytes: 0, paddingBytes: 0 };
  charge(charges, one, config, 1);
  return charges;
}
