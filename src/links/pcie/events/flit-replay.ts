/**
 * Flits kept until they are acknowledged, and sent again from the one that was hit on. Acks and Naks ride
 * in the data link bytes of the flits of the other direction, which never pause: they cost no wire, come
 * with the next flit there that begins after the receiver knows, and where that flit is hit with the one
 * after it. So no timer has to run. (SPEC 6.3 §3.6.2.1, §4.2.3; what of it is not in the clauses at hand
 * is from memory.)
 *
 * Limits: standard Nak, everything from the bad flit on again; no selective repeat. A flit of NOP packets
 * alone is not kept, and an error in it costs nothing.
 */
import type { Kernel, StateReader, StateWriter } from '../../../kernel/index.ts';
import { type CounterSnapshot, type EventState, never, type OwnState } from '../../event-state.ts';
import type { Errors, ReplayCounts } from '../../events.ts';
import type { ReplayRules } from '../config.ts';
import type { FlitSlots } from './flit-slots.ts';
import { LinkWaits } from './waits.ts';

/** Numbers of flits have 16 bits here; a buffer holds fewer by far. */
const mask = 0xffff;
const keptMost = 4096;

/** Places in the numbers: flits by number. */
const NEXT = 0;
const FIRST = 1;
const EXPECTED = 2;
const AGAIN = 3;
const ON_WIRE = 4;
/** Whether an error hits the flit on the wire; whether something waits for room. */
const HIT = 5;
const WAITING = 6;
const numbers = 7;

/** Places in the counters. */
const ERRORS = 0;
const NAKS = 1;
const DISCARDED = 2;

export class FlitReplay implements OwnState {
  readonly waits: LinkWaits;
  readonly #kernel: Kernel;
  readonly #slots: FlitSlots;
  readonly #rules: ReplayRules;
  readonly #errors: Errors | undefined;
  /** Whether the flit of the other direction that carries a Nak is hit. */
  readonly #backErrors: Errors | undefined;
  readonly #wires: { settle(): void; kick(): void };
  readonly #kickKind: number;
  readonly #n = new Int32Array(numbers);
  /** When the Nak of the flit that is expected arrives, or `never`. */
  #nakAt = never;
  /** When the Ack of each flit taken arrives, by number. */
  readonly #ackAt: Float64Array;
  readonly #counts: Float64Array;

  /** @throws RangeError for a buffer of no flit or more than 4096 */
  constructor(
    { kernel, state }: { readonly kernel: Kernel; readonly state: EventState },
    slots: FlitSlots,
    rules: ReplayRules,
    streams: number,
    errors: Errors | undefined,
    backErrors: Errors | undefined,
    wires: { settle(): void; kick(): void },
  ) {
    const { packets } = rules;
    if (!(Number.isInteger(packets) && packets >= 1 && packets <= keptMost)) {
      throw new RangeError(`a replay buffer holds 1 to ${keptMost} flits: ${packets}`);
    }
    this.#kernel = kernel;
    this.#slots = slots;
    this.#rules = rules;
    this.#errors = errors;
    this.#backErrors = backErrors;
    this.#wires = wires;
    this.#ackAt = new Float64Array(keptMost);
    this.#counts = state.counters(3);
    this.waits = new LinkWaits(kernel, state, streams, wires.settle);
    this.#kickKind = kernel.register(() => this.#wires.kick());
    state.own(this);
  }

  /** Number of the flit on the wire. */
  get current(): number {
    return this.#n[ON_WIRE]!;
  }

  /** Whether the next slot is for a flit that is sent again; a Nak that has come is looked at. */
  replaying(): boolean {
    const n = this.#n;
    if (this.#nakAt !== never && this.#nakAt <= this.#kernel.now) {
      this.#nakAt = never;
      this.#counts[NAKS]!++;
      n[AGAIN] = n[EXPECTED]!;
    }
    return n[AGAIN] !== n[NEXT];
  }

  /** Whether one more flit can be kept; where not, the wire is told when one can. */
  room(): boolean {
    const n = this.#n;
    const { now } = this.#kernel;
    const first = n[FIRST]!;
    while (n[FIRST] !== n[EXPECTED] && this.#ackAt[n[FIRST]! & (keptMost - 1)]! <= now) {
      n[FIRST] = (n[FIRST]! + 1) & mask;
    }
    this.#wires.settle();
    if (n[FIRST] !== first) this.waits.progress();
    if (((n[NEXT]! - n[FIRST]!) & mask) < this.#rules.packets) return true;
    this.waits.full();
    if (n[WAITING] === 0) {
      n[WAITING] = 1;
      this.#tell();
    }
    return false;
  }

  /** The wire is kicked when the first flit kept is acknowledged, once that is known. */
  #tell(): void {
    const n = this.#n;
    if (n[FIRST] === n[EXPECTED]) return;
    n[WAITING] = 0;
    const at = this.#ackAt[n[FIRST]! & (keptMost - 1)]!;
    this.#kernel.schedule(Math.max(at, this.#kernel.now), this.#kickKind);
  }

  /** A new flit with bytes of packets begins; idle time is settled. */
  open(): void {
    const n = this.#n;
    this.#starts(n[NEXT]!);
    n[NEXT] = (n[NEXT]! + 1) & mask;
    n[AGAIN] = n[NEXT]!;
  }

  /** The next flit of a replay begins; idle time is settled. */
  again(): void {
    const n = this.#n;
    this.#starts(n[AGAIN]!);
    n[AGAIN] = (n[AGAIN]! + 1) & mask;
  }

  #starts(flit: number): void {
    const n = this.#n;
    const hit = this.#errors?.hit(this.#slots.flit) === true;
    n[ON_WIRE] = flit;
    n[HIT] = hit ? 1 : 0;
    if (hit) {
      this.#counts[ERRORS]!++;
      this.waits.disturb();
    }
    if (flit !== n[EXPECTED]) return;
    if (hit) this.waits.lost();
    else this.waits.repeated();
  }

  /** The flit has arrived; whether the receiver takes it. */
  ends(): boolean {
    const n = this.#n;
    const flit = n[ON_WIRE]!;
    const { now } = this.#kernel;
    if (flit === n[EXPECTED] && n[HIT] === 0) {
      n[EXPECTED] = (flit + 1) & mask;
      this.#ackAt[flit & (keptMost - 1)] = this.#slots.next(now) + this.#slots.flit;
      if (n[WAITING] === 1) this.#tell();
      return true;
    }
    this.#counts[DISCARDED]!++;
    if (flit === n[EXPECTED]) this.#nak(now + this.#rules.nakTicks);
    return false;
  }

  /** The receiver asks for the flit that it expects. */
  #nak(ready: number): void {
    const { flit } = this.#slots;
    let arrives = this.#slots.next(ready) + flit;
    while (this.#backErrors?.hit(flit) === true) {
      this.#counts[ERRORS]!++;
      arrives = this.#slots.next(arrives) + flit;
    }
    this.#nakAt = arrives;
    this.#kernel.schedule(arrives, this.#kickKind);
  }

  counted(counted: CounterSnapshot): ReplayCounts {
    const counts = counted.of(this.#counts);
    const [errors, naks, discarded] = [counts[ERRORS]!, counts[NAKS]!, counts[DISCARDED]!];
    return { errors, naks, timeouts: 0, retrained: 0, discarded };
  }

  shift(ticks: number): void {
    if (this.#nakAt !== never) this.#nakAt += ticks;
    for (let i = 0; i < keptMost; i++) this.#ackAt[i]! += ticks;
  }

  save(to: StateWriter): void {
    to.numbers(this.#n);
    to.number(this.#nakAt);
    to.numbers(this.#ackAt);
  }

  load(from: StateReader): void {
    from.numbers(this.#n);
    this.#nakAt = from.number();
    from.numbers(this.#ackAt);
  }

  /** Numbers count from the first flit kept: only how far apart they are matters. */
  relative(to: StateWriter, now: number): void {
    const n = this.#n;
    for (const place of [NEXT, EXPECTED, AGAIN, ON_WIRE]) {
      to.number((n[place]! - n[FIRST]!) & mask);
    }
    to.numbers([n[HIT]!, n[WAITING]!, this.#nakAt === never ? -1 : this.#nakAt - now]);
    for (let flit = n[FIRST]!; flit !== n[EXPECTED]; flit = (flit + 1) & mask) {
      to.number(this.#ackAt[flit & (keptMost - 1)]! - now);
    }
  }
}
