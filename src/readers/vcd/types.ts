/** What the reader of value change dumps (IEEE 1364-2005, clause 18) gives and takes. */
import type { Rational } from '../../quantity/index.ts';
import type { ReaderNotes } from '../types.ts';
import type { VcdValues } from './values.ts';

/** Bit numbers of a variable as declared: `[31:0]` is left 31, right 0; `[3]` is 3 and 3. */
export interface BitRange {
  readonly left: number;
  readonly right: number;
}

/** One `$var`. Several may have one identifier code: they are one net under several names. */
export interface VcdVariable {
  /** As written: `wire`, `reg`, `real` …; kinds that the standard does not list are kept. */
  readonly type: string;
  /** Bits; of a real 64. */
  readonly width: number;
  /** Index of its identifier code, from 0. */
  readonly code: number;
  /** Names of its scopes joined by dots; empty at the top. */
  readonly scope: string;
  /** Without its bit numbers; an escaped name without its backslash. */
  readonly name: string;
  readonly escaped: boolean;
  readonly range?: BitRange;
}

/** Everything in front of `$enddefinitions`. */
export interface VcdDeclarations {
  readonly date?: string;
  readonly version?: string;
  /** Seconds a time unit: 1, 10 or 100 s … fs; absent when the file does not say. */
  readonly timescale?: Rational;
  readonly variables: readonly VcdVariable[];
}

/** What is to be followed, and who is told. */
export interface VcdWatch {
  /** Indices into `variables`. */
  readonly variables: readonly number[];
  /**
   * Everything that was written at one time, whatever the order in the file. Called once a time at
   * which a followed variable was written; `values` is valid during the call only.
   */
  step(time: number, values: VcdValues): void;
  /** The writer was told to stop recording at `time`; values until it goes on are not in the file. */
  off?(time: number): void;
}

/** Recording switched off from a time on: until another, or to the end. */
export interface OffSpan {
  readonly from: number;
  readonly to?: number;
}

/** What was read, beside what went to the watch. Times in time units of the file. */
export interface VcdSummary extends ReaderNotes {
  /** Absent when the declarations could not be used. */
  readonly declarations?: VcdDeclarations;
  readonly first?: number;
  readonly last?: number;
  /** Different times, and value changes, followed or not. */
  readonly times: number;
  readonly changes: number;
  /** The first spans without recording, and how many there were. */
  readonly off: readonly OffSpan[];
  readonly offCount: number;
  /** Bytes of the file up to where it was read. */
  readonly bytes: number;
  /** True when reading ended before the file did. */
  readonly stopped: boolean;
}
