import { clockRules, pcixLimits } from '../../../standards/pci-bus.ts';
import { type Agent, MasterAgent } from './agent.ts';
import { answers, type Target } from './target.ts';
import { ends, type Transaction, type Wires } from './wires.ts';

const boundary = pcixLimits.boundary.bytes;
/** Data phases before an Allowable Disconnect Boundary from which on a target announces its end. */
const announced = 4;

function endOf(answer: number): number {
  if (answer === answers.retry) return ends.retry;
  if (answer === answers.split) return ends.split;
  return answer === answers.abort ? ends.targetAbort : ends.disconnect;
}

/**
 * Initiator and target of a PCI-X transaction as synchronous state machines. The initiator inserts no
 * wait states; the target inserts them before the first data only; both end on a boundary of 128 bytes,
 * where the byte count ends, or at once behind the first data phase.
 */
export class Extended {
  readonly #t: Transaction;
  readonly #holdFor: number;
  #target: Target | undefined;
  #receiver: MasterAgent | undefined;
  #requester: MasterAgent | undefined;
  #devselAt = 0;
  #dataFrom = 0;
  #answer: number = answers.nothing;
  #frameOff = false;
  /** Words after which it ends as things stand. */
  #until = 0;
  #lastClock = -1;
  /** Words after which the target disconnects. */
  #takes = 0;

  /** @param holdFor clocks that an early end by the target holds the bus */
  constructor(transaction: Transaction, holdFor: number) {
    this.#t = transaction;
    this.#holdFor = holdFor;
  }

  /**
   * @param target undefined where none decodes the address, and for a Split Completion
   * @param receiver whom a Split Completion goes to
   * @param requester who runs any other transaction
   */
  begin(
    target: Target | undefined,
    receiver: MasterAgent | undefined,
    requester: MasterAgent | undefined,
  ): void {
    const t = this.#t;
    this.#target = target?.config.fault === 'no answer' ? undefined : target;
    this.#receiver = receiver;
    this.#requester = requester;
    // The requester decodes its own number fastest.
    const decode = receiver !== undefined ? 2 : (this.#target?.decode ?? -1);
    this.#devselAt = decode < 0 ? Number.POSITIVE_INFINITY : t.addressed + decode;
    this.#dataFrom = Number.POSITIVE_INFINITY;
    this.#answer = answers.nothing;
    this.#frameOff = false;
    this.#until = Number.POSITIVE_INFINITY;
    this.#takes = Number.POSITIVE_INFINITY;
    this.#lastClock = decode < 0 ? t.addressed + clockRules.pcixAbortAfter.clocks : -1;
    if (decode < 0) t.end = ends.masterAbort;
  }

  /** Clock in which DEVSEL# comes; infinite where it does not. */
  get answeredAt(): number {
    return this.#devselAt;
  }

  /** Sets the lines of clock `now + 1`; returns true when `now` was the last clock. */
  clock(seen: Wires, next: Wires, agent: Agent, now: number): boolean {
    const moved = seen.irdy === 1 && seen.trdy === 1 && (seen.devsel === 1 || seen.stop === 1);
    if (moved) this.#move(agent, now);
    if (this.#initiator(seen, next, agent, now, moved)) return true;
    this.#targetSide(next, now + 1);
    return false;
  }

  #move(agent: Agent, now: number): void {
    const t = this.#t;
    const before = t.movedBytes;
    t.move();
    if (before === 0 && agent instanceof MasterAgent) agent.reached(now);
    if (!t.read && this.#target !== undefined) this.#target.post(t.movedBytes - before, now);
  }

  #initiator(seen: Wires, next: Wires, agent: Agent, now: number, moved: boolean): boolean {
    const t = this.#t;
    if (now === this.#lastClock) return true;
    if (now === this.#dataFrom && this.#responds(seen, now) && this.#lastClock === now) return true;
    if (moved && seen.stop === 1 && t.stopped < 0) t.stopped = now;
    if (moved && this.#lastClock < 0 && t.moved === this.#until) return true;
    if (moved && seen.stop === 1 && this.#lastClock < 0 && this.#atBoundary()) {
      t.end = ends.disconnect;
      return true;
    }
    const at = now + 1;
    if (this.#lastClock >= 0 && now >= this.#dataFrom) {
      next.irdy = 1;
      return false;
    }
    if (seen.devsel === 1 && at >= t.addressed + 3 && !this.#frameOff) this.#end(seen, agent, now);
    next.irdy = at >= t.addressed + 3 ? 1 : 0;
    next.frame = this.#frameOff || this.#frameGone(at) ? 0 : 1;
    return false;
  }

  /** Nobody answers: FRAME# goes a clock before IRDY#. */
  #frameGone(at: number): boolean {
    return this.#lastClock >= 0 && at >= this.#lastClock;
  }

  /** Looks at the target's response; true when it ends the transaction at once. */
  #responds(seen: Wires, now: number): boolean {
    const t = this.#t;
    if (this.#answer === answers.data && !(this.#single() && t.words > 1)) return false;
    if (seen.stop === 1) t.stopped = now;
    t.end = endOf(this.#answer);
    this.#lastClock = now + this.#holdFor;
    return true;
  }

  /** FRAME# goes a clock before the last data phase: decides where that is. */
  #end(seen: Wires, agent: Agent, now: number): void {
    const t = this.#t;
    const end = this.#wordsToBoundary();
    const ahead = end - t.moved;
    this.#until = t.words;
    if (end < t.words) {
      const reachable = ahead === 2 || (ahead < 2 && t.moved === 0);
      if (seen.stop === 1 && seen.trdy === 1) {
        this.#until = end;
        t.end = ends.disconnect;
      } else if (reachable && this.#expired(seen, agent, now)) {
        this.#until = end;
        t.end = ends.timer;
      }
    }
    this.#frameOff = this.#until - t.moved <= 2;
  }

  #expired(seen: Wires, agent: Agent, now: number): boolean {
    const { start, owner } = this.#t;
    return now - start + 1 >= agent.latencyTimer && ((seen.gnt >> owner) & 1) === 0;
  }

  /** Words moved at the next boundary behind those moved. */
  #wordsToBoundary(): number {
    const t = this.#t;
    const at = t.low + t.movedBytes;
    const end = at - (at & (boundary - 1)) + boundary;
    return t.moved + Math.ceil((end - at) / t.width);
  }

  /** The target ends behind the first data phase. */
  #single(): boolean {
    const piece = this.#target?.piece ?? 0;
    return piece > 0 && piece < boundary;
  }

  #atBoundary(): boolean {
    const t = this.#t;
    return ((t.low + t.movedBytes) & (boundary - 1)) === 0;
  }

  #targetSide(next: Wires, at: number): void {
    const t = this.#t;
    if (at < this.#devselAt) return;
    if (at === this.#devselAt) this.#decode(at);
    if (at < this.#dataFrom) {
      next.devsel = 1;
      next.ack64 = t.wants64 && t.width === 8 ? 1 : 0;
      return;
    }
    if (this.#lastClock >= 0) return;
    this.#respond(next, at);
  }

  #respond(next: Wires, at: number): void {
    const t = this.#t;
    switch (this.#answer) {
      case answers.retry:
        next.devsel = 1;
        next.stop = 1;
        return;
      case answers.split:
        if (at === this.#dataFrom) {
          next.trdy = 1;
          const { completer, config } = this.#target!;
          completer!.add(this.#requester!, t.address, t.bytes, at + config.readDelay);
        }
        return;
      case answers.abort:
        next.stop = 1;
        return;
    }
    next.trdy = 1;
    next.devsel = 1;
    next.ack64 = t.wants64 && t.width === 8 ? 1 : 0;
    if (this.#takes >= t.words) return;
    // The word that clock `at` carries is the one behind those moved by then.
    const word = at - this.#dataFrom + 1;
    if (this.#single() || word > this.#takes - announced) next.stop = 1;
    if (this.#single()) {
      next.devsel = 0;
      next.ack64 = 0;
    }
  }

  #decode(at: number): void {
    const t = this.#t;
    const target = this.#target;
    const bits = target?.config.widthBits ?? this.#receiver!.config.widthBits;
    if (t.wants64 && bits === 32) t.setWidth(4);
    if (target === undefined) {
      this.#answer = answers.data;
      this.#dataFrom = at + 1;
      return;
    }
    this.#answer = target.decide(t, at);
    this.#dataFrom = at + 1 + (this.#answer === answers.data ? target.lateness(t.read) : 0);
    if (this.#single()) this.#takes = 1;
    else if (target.takes < t.bytes) {
      this.#takes = Math.ceil(((t.low & (t.width - 1)) + target.takes) / t.width);
    }
  }
}
