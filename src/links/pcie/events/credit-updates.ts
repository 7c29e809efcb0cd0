/**
 * Credit updates that bit errors hit. What such an update would have told is told by the next one: until
 * that has arrived no credit of the direction comes back. At the latest it is sent 30 us later (SPEC 6.3
 * §2.6.1.2: at least every 30 us, tolerance −0 %, +50 %).
 */
import type { Kernel, Timer } from '../../../kernel/index.ts';
import { ceil, div, rational } from '../../../quantity/index.ts';
import type { EventState } from '../../event-state.ts';
import { tick } from '../charge.ts';
import type { PcieConfig } from '../config.ts';

export class CreditUpdates {
  readonly #timer: Timer;
  readonly #ticks: number;
  /** 1 while credits are held back. */
  readonly #held: Int32Array;
  /** Packets by kind whose credits are held back. */
  readonly #kept: Int32Array;

  /**
   * @param kinds how many kinds of packet there are
   * @param again sends an update
   */
  constructor(
    { kernel, state }: { readonly kernel: Kernel; readonly state: EventState },
    config: PcieConfig,
    scale: number,
    kinds: number,
    again: () => void,
  ) {
    this.#timer = kernel.timer(kernel.register(again));
    this.#ticks = Number(ceil(div(rational(30n, 1_000_000n), tick(config)))) * scale;
    this.#held = state.numbers(1);
    this.#kept = state.numbers(kinds);
  }

  /** Whether a credit that would come back now is held back. */
  keeps(kind: number): boolean {
    if (this.#held[0] === 0) return false;
    this.#kept[kind]!++;
    return true;
  }

  /** An update is hit. */
  lost(): void {
    this.#held[0] = 1;
    this.#timer.setAfter(this.#ticks);
  }

  /** An update has arrived: `give` for each packet whose credits were held back. */
  arrived(give: (kind: number) => void): void {
    if (this.#held[0] === 0) return;
    this.#held[0] = 0;
    this.#timer.cancel();
    for (let kind = 0; kind < this.#kept.length; kind++) {
      for (; this.#kept[kind]! > 0; this.#kept[kind]!--) give(kind);
    }
  }
}
