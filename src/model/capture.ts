/** The document of `take` for a waveform: what an interface did, clock by clock. */
import type { AccountId } from './accounts.ts';
import type { LedgerRow, Ticks } from './answer.ts';
import type { Finding } from './finding.ts';
import type { Problem } from './problem.ts';

/** The file that was taken in. */
export interface CapturedWaveform {
  readonly format: 'value change dump';
  /** As the writer of the file put them. */
  readonly date?: string;
  readonly writer?: string;
  /** Seconds a time unit as a rational number, `1/1000000000000`; absent where the file does not say. */
  readonly unitRational?: string;
  readonly variables: number;
  readonly changes: number;
  /** Bytes that were read. */
  readonly bytes: number;
  /** First and last time, time units. */
  readonly first?: number;
  readonly last?: number;
}

/** A line and the variables it was read from. */
export interface CapturedLine {
  readonly line: string;
  readonly names: readonly string[];
  /** Recorded level when asserted; absent where the level itself counts. */
  readonly asserted?: 'low' | 'high';
  /** `named` by the user, or `found` by its name. */
  readonly how: 'named' | 'found';
}

/** The interface, and how it was clocked. */
export interface CapturedInterface {
  readonly kind: 'PCI' | 'PCI-X' | 'stream';
  /** Data lines; of a stream its byte lanes times eight. */
  readonly widthBits: number;
  /** What told the mode: `named`, what was seen, or that nothing did. */
  readonly decidedBy: string;
  /** Rising edges of the clock. */
  readonly clocks: number;
  /** Mean over the recording, seconds; absent without a time unit, or below two clocks. */
  readonly clockSeconds?: number;
  readonly clockRational?: string;
  /** Shortest and longest, seconds. */
  readonly clockLeast?: number;
  readonly clockGreatest?: number;
  /** clocks × clockSeconds. */
  readonly seconds?: number;
}

/** All clocks by account. */
export interface CapturedLedger {
  readonly link: string;
  /** Ticks a clock: 1 on a bus, the byte lanes on a stream. */
  readonly ticksPerClock: number;
  readonly tickSeconds?: number;
  readonly tickRational?: string;
  readonly total: Ticks;
  /** Rows in list order; they sum to `total` exactly. */
  readonly ledger: readonly LedgerRow[];
}

/** Transactions that share a command, or a master. */
export interface CapturedGroup {
  readonly name: string;
  readonly transactions: number;
  readonly dataPhases: number;
  readonly bytes: number;
  /** Bytes per second over the whole recording; absent without a time unit. */
  readonly rate?: number;
  /** Clocks from address phase to last clock. */
  readonly clocks: number;
  readonly masterWaits: number;
  readonly targetWaits: number;
  readonly bothWait: number;
}

export interface CapturedCount {
  readonly name: string;
  readonly count: number;
}

/** What a bus did as a whole. */
export interface CapturedBus {
  readonly total: CapturedGroup;
  readonly commands: readonly CapturedGroup[];
  readonly masters: readonly CapturedGroup[];
  readonly endings: readonly CapturedCount[];
  /** Transactions by the answer of their target: `fast`, `A` …, `no answer`. */
  readonly decode: readonly CapturedCount[];
  /** Clocks by phase of a transaction. */
  readonly phases: readonly CapturedCount[];
  /** Assertions of INTA# … INTD#. */
  readonly interrupts: readonly CapturedCount[];
}

/** What a stream did as a whole. Counts of clocks but for bytes. */
export interface CapturedStream {
  readonly beats: number;
  readonly bytes: number;
  readonly padding: number;
  readonly rate?: number;
  readonly sourceGap: number;
  readonly backPressure: number;
  readonly reset: number;
  /** Packets whose end was seen; absent where no end of packets is recorded. */
  readonly packets?: number;
}

/** One transaction of a bus. Clocks count from 0 at the first rising edge. */
export interface CapturedTransaction {
  readonly start: number;
  readonly end: number;
  /** Clocks without a transaction in front of it, and those of arbitration among them. */
  readonly gap: number;
  readonly arbitration: number;
  /** Absent where GNT# does not tell. */
  readonly master?: number;
  readonly command?: string;
  /** Hexadecimal, 8 digits, 16 behind a dual address cycle. */
  readonly address?: string;
  /** PCI-X: AD[31:0] of the attribute phase, and C/BE[3:0]# in front, nine digits. */
  readonly attribute?: string;
  readonly dataPhases: number;
  readonly bytes: number;
  readonly widthBits: 32 | 64;
  /** Clocks to DEVSEL#; 0 for never. */
  readonly decode: number;
  /** Clocks to the first data; 0 without any. */
  readonly firstData: number;
  readonly masterWaits: number;
  readonly targetWaits: number;
  readonly bothWait: number;
  readonly ending: string;
}

/** One packet of a stream. */
export interface CapturedPacket {
  readonly start: number;
  readonly end: number;
  readonly gap: number;
  readonly beats: number;
  readonly bytes: number;
  readonly padding: number;
  readonly sourceGap: number;
  readonly backPressure: number;
  readonly cut: boolean;
}

/** What a case predicts of the bus that was captured. */
export interface CaptureBeside {
  readonly case: { readonly title: string; readonly file: string };
  readonly hop: string;
  readonly link: string;
  /** Fractions of both windows; waits that the lines do not show are all under `idle`. */
  readonly accounts: readonly {
    readonly account: AccountId;
    readonly predicted: number;
    readonly captured: number;
  }[];
  /** Bytes per second of all streams; the ceiling of one alone. */
  readonly predicted: {
    readonly low: number;
    readonly expected: number;
    readonly high: number;
    readonly ceiling: number;
  };
  /** Bytes per second of all transactions; absent without a time unit. */
  readonly captured?: number;
}

export interface CaptureDocument {
  readonly schema: 'lanewright.capture/1';
  readonly tool: { readonly name: 'lanewright'; readonly version: string };
  readonly inputs: readonly { readonly file: string; readonly sha256: string }[];
  readonly waveform: CapturedWaveform;
  readonly interface: CapturedInterface;
  readonly lines: readonly CapturedLine[];
  readonly ledger: CapturedLedger;
  readonly bus?: CapturedBus;
  readonly stream?: CapturedStream;
  /** The first transactions, or packets, and how many more there are. */
  readonly transactions?: readonly CapturedTransaction[];
  readonly packets?: readonly CapturedPacket[];
  readonly leftOut: number;
  /** Where a case was named: what it predicts. */
  readonly beside?: CaptureBeside;
  readonly findings: readonly Finding[];
  /** Places of the file that could not be read; what is around them could. */
  readonly problems: readonly Problem[];
  readonly problemsLeftOut: number;
  /** What the attribution leaves out. */
  readonly limits: readonly string[];
}
