/**
 * One clock of a PCI or PCI-X bus as everything on the bus sees it: the levels sampled at a rising
 * edge of CLK (PCI Local Bus Specification 3.0, clause 3.1: from memory). The simulator emits these,
 * the waveform reader makes them from a file, and one observer reads both.
 */

/**
 * A sample. One struct is filled again and again: it is valid during the call that hands it over, and
 * nobody else writes to it. Control lines are true when asserted (the line is low), as their `#` says.
 */
export interface BusSample {
  /** Rising edges since the first of the recording, from 0. */
  clock: number;
  /** RST# asserted: nothing on the bus counts. */
  reset: boolean;
  frame: boolean;
  irdy: boolean;
  trdy: boolean;
  devsel: boolean;
  stop: boolean;
  lock: boolean;
  req64: boolean;
  ack64: boolean;
  perr: boolean;
  serr: boolean;
  /** REQ# of each master: bit m is set when master m asserts it. 32 masters at most. */
  req: number;
  /** GNT# of each master, likewise. */
  gnt: number;
  /** INTA# … INTD# in bits 0 … 3, set when asserted. */
  interrupts: number;
  /** Levels of C/BE[7:0]#: bit n is the level of line n. 0xff when nobody drives them. */
  cbe: number;
  /** Levels of AD[31:0] and AD[63:32], unsigned. */
  adLow: number;
  adHigh: number;
  /** False where a line of the group was unknown; its bits are then 0 (AD) or 1 (C/BE#). */
  cbeKnown: boolean;
  adLowKnown: boolean;
  adHighKnown: boolean;
  /** Control lines that were unknown and are read as deasserted: bits of `lineBits`; 0 for none. */
  unknown: number;
}

/** Bits of `BusSample.unknown`. */
export const lineBits = {
  reset: 1,
  frame: 2,
  irdy: 4,
  trdy: 8,
  devsel: 16,
  stop: 32,
  lock: 64,
  req64: 128,
  ack64: 256,
  perr: 512,
  serr: 1024,
  req: 2048,
  gnt: 4096,
  interrupts: 8192,
} as const;

/** What receives the clocks of a bus, in order, one call a clock. */
export interface BusSink {
  /** The sample is valid during the call only. */
  clock(sample: BusSample): void;
}

/** A sample of a bus that nobody drives: everything deasserted, AD unknown. */
export function busSample(): BusSample {
  return clearSample({} as BusSample);
}

/** Puts a sample back to a bus that nobody drives, in place; `clock` becomes 0. */
export function clearSample(sample: BusSample): BusSample {
  sample.clock = 0;
  sample.reset = false;
  sample.frame = false;
  sample.irdy = false;
  sample.trdy = false;
  sample.devsel = false;
  sample.stop = false;
  sample.lock = false;
  sample.req64 = false;
  sample.ack64 = false;
  sample.perr = false;
  sample.serr = false;
  sample.req = 0;
  sample.gnt = 0;
  sample.interrupts = 0;
  sample.cbe = 0xff;
  sample.adLow = 0;
  sample.adHigh = 0;
  sample.cbeKnown = true;
  sample.adLowKnown = false;
  sample.adHighKnown = false;
  sample.unknown = 0;
  return sample;
}
