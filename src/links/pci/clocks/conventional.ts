import { clockRules } from '../../../standards/pci-bus.ts';
import type { MasterAgent } from './agent.ts';
import { answers, type Target } from './target.ts';
import { ends, type Transaction, type Wires } from './wires.ts';

/**
 * Master and target of a conventional transaction as two synchronous state machines: each clock both
 * look at the lines as they were and set those of the next clock.
 */
export class Conventional {
  readonly #t: Transaction;
  /** Clock from which IRDY# is asserted for the data phase in hand. */
  #irdyFrom = 0;
  /** FRAME# has gone: the data phase in hand is the last. */
  #last = false;
  #target: Target | undefined;
  #decodeAt = 0;
  #trdyFrom = 0;
  #answer: number = answers.nothing;
  #stopping = false;

  constructor(transaction: Transaction) {
    this.#t = transaction;
  }

  /** @param target undefined where no target decodes the address */
  begin(target: Target | undefined): void {
    const t = this.#t;
    this.#target = target?.config.fault === 'no answer' ? undefined : target;
    const decode = this.#target?.decode ?? Number.POSITIVE_INFINITY;
    this.#decodeAt = t.addressed + decode;
    this.#answer = answers.nothing;
    this.#last = false;
    this.#stopping = false;
    this.#irdyFrom = Number.POSITIVE_INFINITY;
  }

  /** Clock in which DEVSEL# comes; infinite where it does not. */
  get answeredAt(): number {
    return this.#decodeAt;
  }

  /** Sets the lines of clock `now + 1`; returns true when `now` was the last clock. */
  clock(seen: Wires, next: Wires, master: MasterAgent, now: number): boolean {
    const t = this.#t;
    if (now < t.addressed) {
      next.frame = 1;
      return false;
    }
    const moved = seen.irdy === 1 && seen.trdy === 1;
    if (moved) this.#move(master, now);
    if (seen.stop === 1 && t.stopped < 0 && !this.#endsAnyway(seen, moved)) t.stopped = now;
    const ended = this.#master(seen, next, master, now, moved);
    this.#targetSide(seen, next, now + 1, moved, ended);
    return ended;
  }

  #move(master: MasterAgent, now: number): void {
    const t = this.#t;
    const before = t.movedBytes;
    t.move();
    if (before === 0) master.reached(now);
    if (!t.read) this.#target!.post(t.movedBytes - before, now);
  }

  #master(seen: Wires, next: Wires, master: MasterAgent, now: number, moved: boolean): boolean {
    const t = this.#t;
    if (now === t.addressed) this.#irdyFrom = now + 1 + master.config.initialWait;
    if (this.#last && (moved || seen.stop === 1)) {
      if (!moved) t.end = this.#earlyEnd();
      return true;
    }
    if (this.#last && t.end === ends.masterAbort) return true;
    if (moved && seen.stop === 0) this.#irdyFrom = now + 1 + master.config.subsequentWait;
    const waits = seen.stop === 1 && seen.trdy === 1 && !moved && seen.irdy === 0;
    if (waits && now + 1 < this.#irdyFrom) {
      // The target ends with this data phase, for which the master is not ready yet.
      next.frame = 1;
      return false;
    }
    if (seen.stop === 1) {
      // The target wants an end: FRAME# goes as soon as IRDY# may be asserted with it, which is now.
      if (waits && t.moved + 1 < t.words) t.end = ends.disconnect;
      if (moved) t.end = ends.disconnect;
      this.#last = true;
    } else if (seen.devsel === 0 && this.#unanswered(now)) {
      t.end = ends.masterAbort;
      this.#last = true;
    } else if (seen.irdy === 1 && !moved) {
      // IRDY# and FRAME# hold until the data phase is over.
      next.irdy = 1;
      next.frame = this.#last ? 0 : 1;
      return false;
    } else if (now + 1 >= this.#irdyFrom) {
      this.#last = this.#isLast(seen, master, now);
    } else {
      next.frame = 1;
      return false;
    }
    next.irdy = 1;
    next.frame = this.#last ? 0 : 1;
    return false;
  }

  /** STOP# with what is the master's last data in any case: nothing is left to ask again for. */
  #endsAnyway(seen: Wires, moved: boolean): boolean {
    if (moved) return this.#last;
    return seen.trdy === 1 && this.#t.moved + 1 === this.#t.words;
  }

  #earlyEnd(): number {
    const t = this.#t;
    if (t.moved > 0) return ends.disconnect;
    return this.#answer === answers.abort ? ends.targetAbort : ends.retry;
  }

  /** Nobody has asserted DEVSEL# by the last clock a target may. */
  #unanswered(now: number): boolean {
    return (
      this.#target === undefined && now === this.#t.addressed + clockRules.abortAfter.clocks - 1
    );
  }

  #isLast(seen: Wires, master: MasterAgent, now: number): boolean {
    const t = this.#t;
    if (t.moved + 1 === t.words) return true;
    const expired = now - t.start + 1 >= master.latencyTimer;
    if (!expired || ((seen.gnt >> t.owner) & 1) === 1) return false;
    if (t.invalidate && !t.nextWordEnds(master.config.lineBytes)) return false;
    t.end = ends.timer;
    return true;
  }

  #targetSide(seen: Wires, next: Wires, at: number, moved: boolean, ended: boolean): void {
    const target = this.#target;
    if (target === undefined || ended) return;
    if (at < this.#decodeAt) return;
    if (at === this.#decodeAt) {
      this.#decode(target, at);
    } else if (this.#answer === answers.abort) {
      this.#stopping = true;
    } else if (moved && seen.stop === 1) {
      this.#stopping = true;
    } else if (moved) {
      this.#trdyFrom = at + target.config.subsequentWait;
      if (!this.#takesMore(target, at)) this.#stopping = true;
    }
    this.#drive(seen, next, target, at, moved);
  }

  #decode(target: Target, at: number): void {
    const t = this.#t;
    if (t.wants64 && target.config.widthBits === 32) t.setWidth(4);
    this.#answer = target.decide(t, at);
    this.#stopping = this.#answer === answers.retry;
    const earliest = t.read ? Math.max(at, t.addressed + 2) : at;
    this.#trdyFrom = earliest + (this.#answer === answers.data ? target.lateness(t.read) : 0);
  }

  #drive(seen: Wires, next: Wires, target: Target, at: number, moved: boolean): void {
    const t = this.#t;
    const aborting = this.#answer === answers.abort && this.#stopping;
    next.devsel = aborting ? 0 : 1;
    next.ack64 = !aborting && t.wants64 && t.width === 8 ? 1 : 0;
    if (this.#stopping) {
      next.stop = 1;
      return;
    }
    if (this.#answer !== answers.data || at < this.#trdyFrom) return;
    next.trdy = 1;
    // TRDY# and STOP# hold until the data phase is over.
    const holds = seen.trdy === 1 && !moved;
    if (holds) next.stop = seen.stop;
    else if (target.config.disconnectWithData && !this.#takesAnother(target, at)) next.stop = 1;
  }

  /** Whether the target takes a word at all, those moved being counted off. */
  #takesMore(target: Target, at: number): boolean {
    const { movedBytes, read } = this.#t;
    if (movedBytes >= target.takes) return false;
    return read || target.free(at) >= this.#t.width;
  }

  /** Whether it takes one more behind the word in hand. */
  #takesAnother(target: Target, at: number): boolean {
    const t = this.#t;
    const end = t.movedBytes + t.width - ((t.low + t.movedBytes) & (t.width - 1));
    if (end >= target.takes) return false;
    return t.read || target.free(at) >= 2 * t.width;
  }
}
