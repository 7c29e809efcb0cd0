/** Finds the rising edges of a clock in the steps of a waveform, and keeps what their times were. */
import type { VcdValues, VcdWatch } from '../../readers/vcd/index.ts';
import type { BoundLine } from './bind.ts';
import { BitGroup } from './gather.ts';

/** Edges of the clock. Times in time units of the file. */
export interface EdgeTimes {
  readonly edges: number;
  readonly first: number;
  readonly last: number;
  /** Shortest and longest time between two edges; 0 below two. */
  readonly least: number;
  readonly greatest: number;
  /** Periods measured, and their sum: those across a pause of the recording are left out. */
  readonly periods: number;
  readonly span: number;
}

/**
 * When lines are looked at: as they were just before the edge, as flip-flops do, or as they are once
 * everything of the edge's time is over, for recordings made of one sample a clock.
 */
export type Sampling = 'before' | 'at';

/** What looks at the lines. */
export interface ClockedLines {
  /** Variables beside the clock. */
  readonly variables: readonly number[];
  /** Called once, before the first edge. */
  attach(values: VcdValues, slotOf: (variable: number) => number): void;
  /** The slots changed; called after each step in which any did. */
  refresh(values: VcdValues): void;
  /** A rising edge; `edge` counts from 0. */
  edge(edge: number): void;
  /** The recording pauses. */
  off(edge: number): void;
}

/** Watches a clock and lines: a rising edge is a 1 behind a 0, whatever came between. */
export class ClockWatch implements VcdWatch {
  readonly variables: readonly number[];
  readonly #lines: ClockedLines;
  readonly #before: boolean;
  readonly #clockVariable: number;
  readonly #clockBit: number;
  #clock: BitGroup | undefined;
  #level = -1;
  #edges = 0;
  #first = 0;
  #last = 0;
  #least = Number.POSITIVE_INFINITY;
  #greatest = 0;
  #periods = 0;
  #span = 0;
  #paused = false;

  constructor(clock: BoundLine, lines: ClockedLines, sampling: Sampling) {
    const source = clock.sources[0]!;
    this.#clockVariable = source.variable;
    this.#clockBit = source.bit;
    this.#lines = lines;
    this.#before = sampling === 'before';
    this.variables = [...new Set([source.variable, ...lines.variables])];
  }

  get times(): EdgeTimes {
    return {
      edges: this.#edges,
      first: this.#first,
      last: this.#last,
      least: this.#periods > 0 ? this.#least : 0,
      greatest: this.#greatest,
      periods: this.#periods,
      span: this.#span,
    };
  }

  step(time: number, values: VcdValues): void {
    if (this.#clock === undefined) this.#attach(values);
    const clock = this.#clock!;
    clock.read(values);
    const level = clock.unknown !== 0 ? -1 : clock.value;
    const rises = this.#level === 0 && level === 1;
    if (level >= 0) this.#level = level;
    if (rises && this.#before) this.#edge(time);
    this.#lines.refresh(values);
    if (rises && !this.#before) this.#edge(time);
  }

  off(): void {
    this.#level = -1;
    this.#paused = true;
    this.#lines.off(this.#edges);
  }

  #attach(values: VcdValues): void {
    const slotOf = (variable: number) => values.slots[this.variables.indexOf(variable)]!;
    const source = { variable: this.#clockVariable, bit: this.#clockBit };
    this.#clock = new BitGroup([source], slotOf);
    this.#lines.attach(values, slotOf);
  }

  #edge(time: number): void {
    if (this.#edges === 0) this.#first = time;
    else if (!this.#paused) {
      const period = time - this.#last;
      this.#least = Math.min(this.#least, period);
      this.#greatest = Math.max(this.#greatest, period);
      this.#periods += 1;
      this.#span += period;
    }
    this.#paused = false;
    this.#last = time;
    this.#lines.edge(this.#edges);
    this.#edges += 1;
  }
}
