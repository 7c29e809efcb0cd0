import { ASKED, type Clock, NOW } from './clock.ts';
import type { EventHeap } from './heap.ts';
import type { StateReader, StateWriter } from './state.ts';

/**
 * The handle of an event that can be cancelled: made once, set as often as needed, with at most one
 * event pending. It cannot outlive its event by mistake, and setting it allocates nothing.
 *
 * Made by `Kernel.timer`.
 */
export class Timer {
  private readonly clock: Clock;
  private readonly heap: EventHeap;
  private readonly kind: number;
  private readonly id: number;
  private slot = 0;

  constructor(id: number, kind: number, clock: Clock, heap: EventHeap) {
    this.id = id;
    this.kind = kind;
    this.clock = clock;
    this.heap = heap;
  }

  /** Whether the event is still to come. */
  get pending(): boolean {
    return this.heap.owners[this.slot] === this.id;
  }

  /** Time of the event, ticks; Infinity when none is pending. */
  get time(): number {
    return this.pending ? this.heap.timeOf(this.slot) : Infinity;
  }

  /**
   * Schedules the event at `time`, in place of a pending one; it is then the latest scheduled of its
   * time.
   * @throws RangeError as `Kernel.schedule`; the timer is then not pending.
   */
  set(time: number, argument = 0): void {
    this.cancel();
    this.clock[ASKED] = time;
    this.add(argument);
  }

  /** Schedules the event `delay` ticks from now; as `set` otherwise. */
  setAfter(delay: number, argument = 0): void {
    this.cancel();
    this.clock[ASKED] = this.clock[NOW]! + delay;
    this.add(argument);
  }

  /** Cancels the event; false when none was pending. */
  cancel(): boolean {
    if (!this.pending) return false;
    this.heap.drop(this.slot);
    return true;
  }

  /** Writes which event is the timer's. */
  save(to: StateWriter): void {
    to.number(this.kind);
    to.number(this.pending ? this.slot : 0);
  }

  /** Takes the state that `save` wrote. */
  load(from: StateReader): void {
    const kind = from.number();
    if (kind !== this.kind) {
      throw new RangeError(`checkpoint has a timer of kind ${kind}, here it is ${this.kind}`);
    }
    this.slot = from.number();
  }

  private add(argument: number): void {
    this.slot = this.heap.add(this.kind, argument);
    this.heap.owners[this.slot] = this.id;
  }
}
