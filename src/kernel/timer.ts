import { ASKED, type Clock, NOW } from './clock.ts';
import type { EventWheel } from './wheel.ts';

// V8 folds constants declared in a file, not imported ones, which cost a load and two checks each.
const nowAt = NOW;
const askedAt = ASKED;

/**
 * The handle of an event that can be cancelled: made once, set as often as needed, with at most one
 * event pending. It cannot outlive its event by mistake, and setting it allocates nothing.
 *
 * Made by `Kernel.timer`.
 */
export class Timer {
  private readonly clock: Clock;
  private readonly wheel: EventWheel;
  private readonly id: number;

  constructor(kind: number, clock: Clock, wheel: EventWheel) {
    this.clock = clock;
    this.wheel = wheel;
    this.id = wheel.addTimer(kind);
  }

  /** Whether the event is still to come. */
  get pending(): boolean {
    return this.wheel.isPending(this.id);
  }

  /** Time of the event, ticks; Infinity when none is pending. */
  get time(): number {
    return this.wheel.timeOf(this.id);
  }

  /**
   * Schedules the event at `time`, in place of a pending one; it is then the latest scheduled of
   * its time.
   * @throws RangeError as `Kernel.schedule`; the timer is then not pending.
   */
  set(time: number, argument = 0): void {
    this.cancel();
    this.clock[askedAt] = time;
    this.wheel.addFor(this.id, argument);
  }

  /** Schedules the event `delay` ticks from now; as `set` otherwise. */
  setAfter(delay: number, argument = 0): void {
    this.cancel();
    this.clock[askedAt] = this.clock[nowAt]! + delay;
    this.wheel.addFor(this.id, argument);
  }

  /** Cancels the event; false when none was pending. */
  cancel(): boolean {
    if (!this.pending) return false;
    this.wheel.drop(this.id);
    return true;
  }
}
