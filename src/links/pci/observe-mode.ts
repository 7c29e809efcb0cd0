/**
 * Tells conventional PCI from PCI-X by what only one of them does, where nobody says which it is.
 * Source: PCI-X Addendum 1.0b, clauses on initialization, transaction timing and terminations, and PCI
 * Local Bus Specification 3.0, clause 3; recalled from memory.
 */
import type { BusMode } from '../../standards/pci-bus.ts';
import { DUAL_ADDRESS } from './observe-commands.ts';
import { type BusSample, type BusSink, busSample, lineBits } from './sample.ts';

/** What told the modes apart, and when. */
export interface ModeEvidence {
  readonly mode: BusMode;
  readonly because: string;
  /** Clock of the sample that decided. */
  readonly clock: number;
}

/** IRDY# and data come at the earliest this many clocks behind the last address phase in PCI-X. */
const EXTENDED_FIRST = 3;

export class ModeFinder {
  /** What decided; undefined until something has. */
  found: ModeEvidence | undefined;
  #pattern = 0;
  #inReset = false;
  #open = false;
  #blind = true;
  #dualNext = false;
  #addressed = 0;
  #answered = false;
  #lastFrame = false;
  #lastIrdy = false;
  #withoutFrame = 0;
  #moved = 0;

  look(s: BusSample): void {
    if (this.found !== undefined) return;
    if (s.reset) {
      this.#inReset = true;
      this.#pattern = (s.devsel ? 4 : 0) | (s.stop ? 2 : 0) | (s.trdy ? 1 : 0);
      this.#open = false;
      this.#blind = false;
    } else {
      if (this.#inReset && (s.unknown & lineBits.reset) === 0) this.#initialized(s);
      this.#inReset = false;
      this.#transaction(s);
    }
    this.#lastFrame = s.frame && !s.reset;
    this.#lastIrdy = s.irdy && !s.reset;
  }

  /** The central resource drives the mode on DEVSEL#, STOP# and TRDY# as RST# is deasserted. */
  #initialized(s: BusSample): void {
    if (this.#pattern === 0)
      this.#tell('pci', 'DEVSEL#, STOP# and TRDY# were deasserted as RST# ended', s);
    else if (this.#pattern <= 3) {
      const most = [0, 66, 100, 133][this.#pattern];
      this.#tell('pcix', `the pattern as RST# ended says PCI-X of up to ${most} MHz`, s);
    }
  }

  #transaction(s: BusSample): void {
    if (!s.frame && !s.irdy) {
      this.#open = false;
      this.#blind = false;
      return;
    }
    const next = this.#open && s.frame && !this.#lastFrame && this.#lastIrdy;
    if (next) this.#tell('pci', 'two transactions followed each other without an idle clock', s);
    if (!this.#open && !this.#blind && s.frame) {
      this.#open = true;
      this.#addressed = s.clock;
      this.#dualNext = s.cbeKnown && (s.cbe & 15) === DUAL_ADDRESS;
      this.#answered = false;
      this.#withoutFrame = 0;
      this.#moved = 0;
      return;
    }
    if (!this.#open) return;
    if (this.#dualNext) {
      this.#dualNext = false;
      this.#addressed = s.clock;
      return;
    }
    this.#phase(s);
  }

  #phase(s: BusSample): void {
    const since = s.clock - this.#addressed;
    if (s.devsel) this.#answered = true;
    if (s.devsel && since === 1)
      this.#tell('pci', 'DEVSEL# came in the clock behind the address', s);
    else if (s.irdy && since < EXTENDED_FIRST) {
      this.#tell(
        'pci',
        `IRDY# came ${since === 1 ? 'one clock' : 'two clocks'} behind the address`,
        s,
      );
    } else if (s.frame && !s.irdy && this.#moved > 0) {
      this.#tell('pci', 'a master inserted a wait state behind its first data', s);
    } else if (this.#answered && s.trdy && !s.devsel && !s.stop) {
      this.#tell('pcix', 'a target gave a Split Response', s);
    }
    if (!(s.irdy && s.trdy)) return;
    this.#moved += 1;
    if (s.frame) return;
    this.#withoutFrame += 1;
    if (this.#withoutFrame === 2)
      this.#tell('pcix', 'data moved twice behind the end of FRAME#', s);
  }

  #tell(mode: BusMode, because: string, s: BusSample): void {
    this.found ??= { mode, because, clock: s.clock };
  }
}

/** Clocks kept while the mode is open; some transactions, and no matter in memory. */
export const MODE_CLOCKS_MAX = 16_384;

/**
 * Holds samples back until the mode is found, then hands all of them to the sink that `begin` makes for
 * it. Where nothing tells within `MODE_CLOCKS_MAX` clocks, or before `end`, `begin` gets no evidence.
 */
export class ModeGate implements BusSink {
  readonly #finder = new ModeFinder();
  readonly #begin: (evidence: ModeEvidence | undefined) => BusSink;
  #held: BusSample[] | undefined = [];
  #sink: BusSink | undefined;

  constructor(begin: (evidence: ModeEvidence | undefined) => BusSink) {
    this.#begin = begin;
  }

  clock(sample: BusSample): void {
    if (this.#sink !== undefined) {
      this.#sink.clock(sample);
      return;
    }
    this.#finder.look(sample);
    this.#held!.push(Object.assign(busSample(), sample));
    if (this.#finder.found !== undefined || this.#held!.length >= MODE_CLOCKS_MAX) this.end();
  }

  /** No more is held back. */
  end(): void {
    if (this.#sink !== undefined) return;
    this.#sink = this.#begin(this.#finder.found);
    const held = this.#held!;
    this.#held = undefined;
    for (const sample of held) this.#sink.clock(sample);
  }
}
