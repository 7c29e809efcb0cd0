/**
 * Timing rules of conventional PCI and PCI-X. LOCAL is the PCI Local Bus Specification, revision 3.0;
 * ADDENDUM the PCI-X Addendum to it, revision 1.0b. Neither text was at hand: rows whose basis is
 * `memory` are recalled; the others are as quoted in the text that their reference names. Clocks are
 * counted on the bus; the (last) address phase is the clock they are counted from.
 */
import type { Basis } from '../model/basis.ts';

export type BusMode = 'pci' | 'pcix';

interface Cited {
  readonly clause: string;
  readonly basis: Basis;
}

export interface BusSpeedRow extends Cited {
  readonly id: string;
  readonly mode: BusMode;
  /** Clock period in tenths of a nanosecond: 300 is 33.33 MHz. */
  readonly periodTenthsNs: number;
  readonly title: string;
}

function speed<const Id extends string>(
  id: Id,
  mode: BusMode,
  periodTenthsNs: number,
  title: string,
) {
  const clause =
    mode === 'pci' ? 'LOCAL 4.2.3.1, 7.6.4.1' : 'ADDENDUM, clause on clock specification';
  return { id, mode, periodTenthsNs, title, clause, basis: 'memory' } as const;
}

/**
 * Speeds a bus can run at. Peak rates that follow (32 and 64 bits): 133.3 and 266.7 MB/s at 33 MHz up
 * to 533.3 and 1066.7 MB/s at 133 MHz, as published for all of them.
 */
export const busSpeeds = [
  speed('pci_33', 'pci', 300, 'PCI 33 MHz'),
  speed('pci_66', 'pci', 150, 'PCI 66 MHz'),
  speed('pcix_66', 'pcix', 150, 'PCI-X 66 MHz'),
  speed('pcix_100', 'pcix', 100, 'PCI-X 100 MHz'),
  speed('pcix_133', 'pcix', 75, 'PCI-X 133 MHz'),
] as const satisfies readonly BusSpeedRow[];

export type BusSpeedId = (typeof busSpeeds)[number]['id'];

/** The row of a speed. */
export function busSpeed(id: BusSpeedId): BusSpeedRow {
  return busSpeeds.find((row) => row.id === id)!;
}

export interface DecodeRow extends Cited {
  /** Clocks from the address phase to the clock in which DEVSEL# is first seen. */
  readonly clocks: number;
}

const decodeSource =
  'LOCAL 3.6.1, as quoted by a note on address phase timing: DEVSEL# at clock 2, 3, 4 or 5 where the ' +
  'address phase is clock 1';
const letters = 'ADDENDUM, clause on DEVSEL# timing';

/** DEVSEL# timing of conventional PCI. */
export const conventionalDecode = {
  fast: { clocks: 1, clause: decodeSource, basis: 'practice' },
  medium: { clocks: 2, clause: decodeSource, basis: 'practice' },
  slow: { clocks: 3, clause: decodeSource, basis: 'practice' },
  subtractive: { clocks: 4, clause: decodeSource, basis: 'practice' },
} as const satisfies Readonly<Record<string, DecodeRow>>;

/** DEVSEL# timing of PCI-X. */
export const pcixDecode = {
  A: { clocks: 2, clause: letters, basis: 'memory' },
  B: { clocks: 3, clause: letters, basis: 'memory' },
  C: { clocks: 4, clause: letters, basis: 'memory' },
  SUB: { clocks: 6, clause: letters, basis: 'memory' },
} as const satisfies Readonly<Record<string, DecodeRow>>;

export type ConventionalDecode = keyof typeof conventionalDecode;
export type PcixDecode = keyof typeof pcixDecode;

export interface ClockRule extends Cited {
  readonly clocks: number;
  readonly rule: string;
}

/** Rules that are one number of clocks. */
export const clockRules = {
  abortAfter: {
    clocks: 5,
    rule: 'conventional: FRAME# goes this long after the address phase when nobody answers',
    clause: 'LOCAL 3.3.3.1, as quoted by a note on address phase timing (FRAME# off at clock 6)',
    basis: 'practice',
  },
  pcixAbortAfter: {
    clocks: 7,
    rule: 'PCI-X: the last clock of a transaction that nobody answers, counted likewise',
    clause: 'ADDENDUM: no response within 6 clocks is a Master-Abort; the clock after is assumed',
    basis: 'assumed',
  },
  grant: {
    clocks: 2,
    rule: 'REQ# to GNT# for the only master that asks on an idle bus',
    clause: 'LOCAL 3.5.4 as quoted in a note on access latency',
    basis: 'practice',
  },
  grantToFrame: {
    clocks: 1,
    rule: 'conventional: GNT# on an idle bus to FRAME#',
    clause: 'LOCAL 3.4.1',
    basis: 'memory',
  },
  pcixGrantToFrame: {
    clocks: 2,
    rule: 'PCI-X: GNT# to FRAME#, inputs being registered',
    clause: 'ADDENDUM, clause on arbitration',
    basis: 'memory',
  },
  requestOff: {
    clocks: 2,
    rule: 'REQ# deasserted after the target asserted STOP#: the idle clock and one beside it',
    clause: 'LOCAL 3.4.1',
    basis: 'memory',
  },
  targetInitial: {
    clocks: 16,
    rule: 'FRAME# to TRDY# or STOP# of the first data phase, at most',
    clause: 'LOCAL 3.5.1.1, as quoted in an encyclopaedia article on bus latency',
    basis: 'practice',
  },
  targetSubsequent: {
    clocks: 8,
    rule: 'TRDY# or STOP# of any later data phase, at most',
    clause: 'LOCAL 3.5.1.2, as quoted in a note on access latency',
    basis: 'practice',
  },
  masterData: {
    clocks: 8,
    rule: 'IRDY# of any data phase, at most',
    clause: 'LOCAL 3.5.2, as quoted in an encyclopaedia article on bus latency',
    basis: 'practice',
  },
} as const satisfies Readonly<Record<string, ClockRule>>;

/** Limits of PCI-X sequences. */
export const pcixLimits = {
  /** Allowable Disconnect Boundary, bytes. */
  boundary: { bytes: 128, clause: 'ADDENDUM; Intel 41210 manual p. 32', basis: 'datasheet' },
  /** Longest sequence, bytes. */
  sequence: { bytes: 4096, clause: 'ADDENDUM, byte count of the attributes', basis: 'datasheet' },
  /** Values of Maximum Memory Read Byte Count; the first is the value at power-up. */
  readByteCounts: {
    bytes: [512, 1024, 2048, 4096],
    clause: 'ADDENDUM, PCI-X Command register; Linux kernel interface pcix_set_mmrbc',
    basis: 'practice',
  },
  /** Values of Maximum Outstanding Split Transactions. */
  outstanding: {
    counts: [1, 2, 3, 4, 8, 12, 16, 32],
    clause: 'ADDENDUM, PCI-X Command register',
    basis: 'memory',
  },
  /** Latency Timer at power-up in PCI-X mode. */
  latencyTimer: { clocks: 64, clause: 'ADDENDUM, Latency Timer register', basis: 'memory' },
} as const;

/** Commands on C/BE[3:0]# in the address phase (LOCAL 3.1.1; ADDENDUM, clause on commands: memory). */
export const busCommands = {
  memoryRead: 0x6,
  memoryWrite: 0x7,
  memoryReadMultiple: 0xc,
  dualAddress: 0xd,
  memoryReadLine: 0xe,
  memoryWriteInvalidate: 0xf,
  /** PCI-X: takes the place of Memory Read Multiple. */
  splitCompletion: 0xc,
  /** PCI-X: Memory Read Block and Memory Write Block take those of the line commands. */
  memoryReadBlock: 0xe,
  memoryWriteBlock: 0xf,
} as const;

export interface LatencyRow {
  readonly phases: number;
  readonly clocks: number;
  /** Latency Timer that lets the burst end. */
  readonly timer: number;
  /** Nanoseconds at 30 ns a clock. */
  readonly latencyNs: number;
}

/**
 * Latency of bursts of different length, 32 bits at 33 MHz, first data at clock 8 (LOCAL 3.5.4, table
 * "Latency for Different Burst Length Transfers"; structure recalled from memory).
 */
export const burstLatency: readonly LatencyRow[] = [
  { phases: 8, clocks: 16, timer: 14, latencyNs: 480 },
  { phases: 16, clocks: 24, timer: 22, latencyNs: 720 },
  { phases: 32, clocks: 40, timer: 38, latencyNs: 1200 },
  { phases: 64, clocks: 72, timer: 70, latencyNs: 2160 },
];
