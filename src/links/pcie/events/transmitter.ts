/**
 * One direction of a PCI Express link through time: the transmitter with its queues and ordered sets, and
 * the receiver that answers with Acks and credit updates on the reverse wire. Rules are in
 * docs/simulator.md; the closed form is not consulted.
 */
import type { DelayLine, Kernel } from '../../../kernel/index.ts';
import { accountCount, accountIndex } from '../../../model/accounts.ts';
import { heldBy } from '../../../model/attribution.ts';
import type { Causes, Idler } from '../../causes.ts';
import { type CounterSnapshot, never } from '../../event-state.ts';
import type {
  CreditPeak,
  Errors,
  LinkRequest,
  PacketKind,
  ReplayCounts,
  Sink,
  Source,
  Transmitter,
  WireUse,
} from '../../events.ts';
import { charge, compensation, fillTicks, noCharge, type Packet, ticksPerByte } from '../charge.ts';
import type { PcieConfig, Receiver } from '../config.ts';
import { Choice } from './choice.ts';
import { CreditUpdates } from './credit-updates.ts';
import { CreditPool } from './credits.ts';
import { DataLink } from './data-link.ts';
import { BitErrors } from './errors.ts';
import { replayRules } from './replay-rules.ts';

/** What is on the wire. */
const nothing = 0;
const packet = 1;
const ack = 2;
const update = 3;
const compensating = 4;
const nak = 5;

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

/** Place in the list of ticks left: 1 while a packet is on the wire that will not be taken. */
const VAIN = 2;

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
  /** Ticks of an Ack or update, and what the wire stands filled behind one. */
  readonly #linkTicks: number;
  readonly #linkFill: number;
  readonly #linkCharges: Readonly<Record<'Ack' | 'UpdateFC', readonly number[]>>;
  readonly #interval: number;
  readonly #setTicks: number;
  readonly #errors: Errors | undefined;
  /** Buffer, numbers and timers; undefined where every packet arrives and no buffer is stated. */
  readonly #link: DataLink | undefined;
  /** Updates for this direction that are hit, where any can be. */
  readonly #updates: CreditUpdates | undefined;
  readonly #give: (kind: number) => void;
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
  /** Ticks of fill not charged yet, behind what was sent last; ticks to the next error; `VAIN`. */
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
    this.#linkCharges = {
      Ack: linkCharges('Ack', config),
      UpdateFC: linkCharges('UpdateFC', config),
    };
    const link = this.#linkCharges.Ack.reduce((sum, ticks) => sum + ticks, 0);
    this.#linkTicks = link * scale;
    this.#linkFill = fillTicks(link, config) * scale;
    const { interval, lost } = compensation(config);
    this.#interval = interval * scale;
    this.#setTicks = lost * scale;
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
    this.#errors = request.errors?.[direction] ?? BitErrors.of(config, scale, kernel, this.#left);
    this.#link = this.#dataLink(request, config);
    this.#give = (kind) => this.#credits.give(kind);
    this.#updates =
      this.#link &&
      new CreditUpdates({ kernel, state }, config, scale, this.#kinds.length, () => {
        this.reverse.#owe(UPDATES);
      });
    causes.watch(request.carries[direction], this);
    kernel.schedule(this.#interval, this.#dueKind);
  }

  #dataLink({ kernel, state }: LinkRequest<PcieConfig>, config: PcieConfig): DataLink | undefined {
    const ticks = this.#kinds.map((kind) => kind?.ticks ?? 0);
    const rules = replayRules(config, Math.max(0, ...ticks));
    if (!rules) return undefined;
    const scaled = {
      ...rules,
      timerTicks: rules.timerTicks * this.#scale,
      ackTicks: rules.ackTicks * this.#scale,
      nakTicks: rules.nakTicks * this.#scale,
    };
    const bytes = Int32Array.from(ticks, (each) => Math.ceil(each / ticksPerByte(config)));
    const wires = {
      settle: () => this.settle(),
      kick: () => this.kick(),
      answer: () => this.reverse.kick(),
    };
    return new DataLink({ kernel, state }, scaled, bytes, this.#carries.length, wires, () => {
      this.#acknowledge();
    });
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
    return this.#link ? this.#link.buffer.size : this.#n[UNACKNOWLEDGED]!;
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
    const held = this.#link
      ? this.#link.waits.heldBy(this.#causes, this.#carries)
      : heldBy(arisen, charged, this.#carries);
    this.#idle[held]! += idle;
  }

  /** What to send next; the wire is free. Link packets first, at most one begun in a symbol time. */
  #next(): void {
    const links = this.#linksWaiting();
    if (links > 0 && this.#times[LINK_FROM]! <= this.#kernel.now) {
      this.#sendLink();
      return;
    }
    if (links < linksMost && this.#sendsPacket()) return;
    const n = this.#n;
    if (links > 0 && n[WAKING] === 0) {
      n[WAKING] = 1;
      this.#kernel.schedule(this.#times[LINK_FROM]!, this.#wakeKind);
    }
  }

  #linksWaiting(): number {
    const owed = this.#n[ACKS]! + this.#n[UPDATES]!;
    return this.#link ? owed + this.reverse.#link!.nakDue : owed;
  }

  /** Starts a packet if one may: first what is to be sent again. */
  #sendsPacket(): boolean {
    const link = this.#link;
    if (link?.buffer.replaying) {
      this.#sendAgain(link);
      return true;
    }
    const source = this.#choice.ready();
    if (source < 0) return false;
    if (link?.buffer.full) {
      this.settle();
      link.waits.full();
      return false;
    }
    this.#sendPacket(source);
    return true;
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
    const answered = this.#link && this.reverse.#link!;
    const what = answered?.nakDue ? nak : n[ACKS]! > 0 ? ack : update;
    if (what !== nak) n[what === ack ? ACKS : UPDATES]!--;
    this.#own[what === update ? SENT_UPDATES : SENT_ACKS]!++;
    if (answered && what !== update) answered.answers(what === nak);
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
    const link = this.#link;
    if (link) {
      const sequence = link.buffer.push(kind, n[MARK]!, this.#birth[0]!);
      this.#countUnacknowledged(link.buffer.size);
      this.#launch(link, kind, sequence);
      return;
    }
    this.#counts[kind]!++;
    this.#countUnacknowledged(++n[UNACKNOWLEDGED]!);
    this.#begin(packet, this.ticks[kind]!, this.#fill[kind]!);
    this.#sink.started(this);
  }

  #countUnacknowledged(waiting: number): void {
    if (waiting > this.#peak[0]!) this.#peak[0] = waiting;
  }

  /** Sends the next packet of a replay. */
  #sendAgain(link: DataLink): void {
    const n = this.#n;
    const { buffer } = link;
    const { kind } = buffer;
    n[KIND] = kind;
    n[SOURCE] = again;
    n[MARK] = buffer.mark;
    this.#birth[0] = buffer.birth;
    this.#launch(link, kind, buffer.again());
  }

  /** A packet goes out with its number; what the receiver will not take is sent in vain. */
  #launch(link: DataLink, kind: number, sequence: number): void {
    this.settle();
    const ticks = this.ticks[kind]!;
    const good = link.starts(sequence, this.#errors?.hit(ticks) === true);
    this.#left[VAIN] = good ? 0 : 1;
    if (good) this.#counts[kind]!++;
    else this.#own[REPLAYED]! += ticks / this.#scale;
    this.#begin(packet, ticks, this.#fill[kind]!);
    if (good) this.#sink.started(this);
  }

  #end(): void {
    const n = this.#n;
    const what = n[ON_WIRE]!;
    this.#settled[0] = this.#kernel.now;
    if (what === packet) this.#received();
    else if (what !== compensating) this.#linkReceived(what);
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
    if (n[SOURCE] !== again) this.#choice.sources[n[SOURCE]!]!.ended();
    if (this.#link && !this.#takes(this.#link)) return;
    if (this.#sink.arrived(this)) this.release(kind);
    if (++n[SINCE_ACK]! >= this.#receiver.packetsPerAck) this.#acknowledge();
    else this.#link?.ackWaits(true);
    if (this.#receiver.packetsPerUpdate === infinite) return;
    if (!this.#answersUpdates(this.#kinds[kind]!)) return;
    if (++n[SINCE_UPDATE]! < this.#receiver.packetsPerUpdate) return;
    n[SINCE_UPDATE] = 0;
    this.reverse.#owe(UPDATES);
  }

  /** Whether the receiver takes the packet; an old one is acknowledged again, a bad one by its Nak. */
  #takes(link: DataLink): boolean {
    const found = link.ends();
    if (found === 'taken') return true;
    if (found === 'old') {
      if (this.reverse.#n[ACKS] === 0) this.#acknowledge();
    } else {
      this.#n[SINCE_ACK] = 0;
      link.ackWaits(false);
    }
    return false;
  }

  /** The receiver acknowledges all that it has taken. */
  #acknowledge(): void {
    this.#n[SINCE_ACK] = 0;
    this.#link?.ackWaits(false);
    this.reverse.#owe(ACKS);
  }

  #owe(place: typeof ACKS | typeof UPDATES): void {
    this.#n[place]!++;
    this.kick();
  }

  /** An Ack, Nak or credit update is through. */
  #linkReceived(what: number): void {
    const link = this.#link && this.reverse.#link;
    if (link) {
      const hit = this.#errors?.hit(this.#linkTicks) === true;
      if (what === update) {
        this.reverse.#updated(hit);
        return;
      }
      if (hit) link.disturb();
      link.answered(what === nak, hit);
      return;
    }
    if (what !== ack) return;
    const left = this.reverse.#n[UNACKNOWLEDGED]! - this.reverse.#receiver.packetsPerAck;
    this.reverse.#n[UNACKNOWLEDGED] = Math.max(0, left);
  }

  /** A credit update for this direction has passed the other wire. */
  #updated(hit: boolean): void {
    if (hit) this.#updates?.lost();
    else this.#updates?.arrived(this.#give);
    this.kick();
  }

  #creditsBack(kind: number): void {
    if (this.#updates?.keeps(kind)) return;
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
    if (this.#linksWaiting() > 0) return false;
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
    return this.#link?.counted(counted);
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
    if (what === ack || what === nak) return { charges: this.#linkCharges.Ack, count: 1 };
    if (what === update) return { charges: this.#linkCharges.UpdateFC, count: 1 };
    if (what === compensating) {
      return { charges: this.#single('clock_compensation', this.#setTicks), count: 1 };
    }
    const kind = this.#n[KIND]!;
    if (this.#link && this.#left[VAIN] === 1) {
      return { charges: this.#single('replay', this.ticks[kind]!), count: 1 };
    }
    const { charges, stream } = this.#kinds[kind]!;
    return { charges, count: 1, stream };
  }

  peaks(): { unacknowledged: number; credits: readonly CreditPeak[] } {
    return { unacknowledged: this.#peak[0]!, credits: this.#credits.peaks() };
  }
}

/** Stands for a source where a packet is sent again. */
const again = -1;

const infinite = Number.POSITIVE_INFINITY;

function linkCharges(kind: 'Ack' | 'UpdateFC', config: PcieConfig): number[] {
  const charges = noCharge();
  const one: Packet = { kind, wideAddress: false, payloadBytes: 0, paddingBytes: 0 };
  charge(charges, one, config, 1);
  return charges;
}
