/** The document of `simulate`: closed form and simulation of one case side by side. */
import type { AccountId } from './accounts.ts';
import type {
  AnswerPart,
  Direction,
  LedgerDirection,
  LedgerRow,
  Rounding,
  Ticks,
} from './answer.ts';

/** Payload times of one stream in the window, seconds; from ready to arrived whole. */
export interface SimulatedLatency {
  /** Packets or requests measured. */
  readonly count: number;
  /** Percentiles, at most a sixteenth above the true ones; `most` is exact. */
  readonly p50: number;
  readonly p99: number;
  readonly p999: number;
  readonly most: number;
}

export interface SimulatedStream {
  readonly name: string;
  /** Bytes per second: the closed form at the expected values, and the simulation. */
  readonly closedForm: number;
  readonly simulated: number;
  /** simulated / closedForm − 1. */
  readonly difference: number;
  /** Why they differ, a sentence each; empty where they are equal. */
  readonly because: readonly string[];
  /** Payload bytes that arrived in the window. */
  readonly bytes: number;
  readonly latency: SimulatedLatency;
}

/** One account of one direction of a hop in both; of payload, one stream's. */
export interface AccountDifference {
  readonly account: AccountId;
  readonly stream?: string;
  /** Shares of the window, fractions of one. */
  readonly closedForm: number;
  readonly simulated: number;
  readonly because: readonly string[];
}

export interface LedgerSide {
  readonly total: Ticks;
  /** Rows in list order; they sum to `total` exactly. */
  readonly ledger: readonly LedgerRow[];
}

/** One direction of a hop: both ledgers whole, and every account in which they differ. */
export interface SimulatedLink {
  readonly hop: string;
  readonly link: string;
  readonly direction: LedgerDirection;
  readonly tickSeconds: number;
  readonly tickRational: string;
  readonly closedForm: LedgerSide;
  readonly simulated: LedgerSide;
  readonly differences: readonly AccountDifference[];
}

/** High-water marks of one direction of a hop in the window. */
export interface SimulatedPeaks {
  readonly hop: string;
  readonly direction: Direction;
  /** Packets sent and not yet acknowledged. */
  readonly unacknowledged: number;
  /** Credits out at once; `units` of 16 B. */
  readonly credits: readonly {
    readonly credit: 'posted' | 'nonposted' | 'completion';
    readonly channel: number;
    readonly headers: number;
    readonly units: number;
  }[];
}

/** One figure over all runs that is not the same in every run. */
export interface RunFigure {
  /** What it is of: a stream, or a hop and its direction. */
  readonly of: string;
  /** `rate`, `latency p99`, `share of padding`, `unacknowledged packets` … */
  readonly figure: string;
  readonly unit: 'B/s' | 's' | 'share' | 'count';
  readonly mean: number;
  /** 90 % confidence interval of the mean, Student's t over independent runs. */
  readonly low: number;
  readonly high: number;
}

export interface SimulatedRuns {
  readonly count: number;
  /** Of each run in order, the document's own first; any run can be had alone by its seed. */
  readonly seeds: readonly number[];
  readonly confidence: number;
  readonly figures: readonly RunFigure[];
  /** Figures that were equal in all runs; they have no interval. */
  readonly equal: number;
}

/** The document. Times are seconds unless they are called ticks; rates are bytes per second. */
export interface SimulationDocument {
  readonly schema: 'lanewright.simulation/1';
  readonly tool: { readonly name: 'lanewright'; readonly version: string };
  readonly case: {
    readonly title: string;
    readonly question?: string;
    readonly revision?: string;
    readonly file: string;
    readonly sha256: string;
  };
  readonly inputs: readonly { readonly file: string; readonly sha256: string }[];
  readonly parts: readonly AnswerPart[];
  readonly seed: number;
  /** How sources that are ready at once take turns. */
  readonly arbitration: 'weighted' | 'round robin';
  /** Reads take the same time each, exponentially distributed ones, or what the host states. */
  readonly readDelay: 'fixed' | 'exponential' | 'stated';
  /** Whether a period was looked for, to leave whole ones out. */
  readonly skip: boolean;
  readonly window: {
    readonly warmUp: number;
    readonly seconds: number;
    /** System ticks of both, and the tick as a rational number of seconds. */
    readonly warmUpTicks: Ticks;
    readonly ticks: Ticks;
    readonly tickRational: string;
    /** `closed form`: the smallest window in which everything is whole there. */
    readonly chosen: 'closed form' | 'stated';
  };
  /** Time after which the whole state recurs, where it was looked for and found. */
  readonly period?: {
    readonly seconds: number;
    readonly ticks: Ticks;
    /** Whole periods left out. */
    readonly skipped: number;
  };
  readonly streams: readonly SimulatedStream[];
  readonly links: readonly SimulatedLink[];
  readonly peaks: readonly SimulatedPeaks[];
  /** Most packets that waited in a queue of a switch since the start. */
  readonly queues: readonly { readonly from: string; readonly to: string; readonly most: number }[];
  readonly runs?: SimulatedRuns;
  /** Events dispatched; those of periods left out are not counted. */
  readonly dispatched: number;
  /** Fingerprint of the state at the end and of what was counted. */
  readonly stateHash: string;
  readonly roundings: readonly Rounding[];
  /** What the closed form leaves out. */
  readonly limits: readonly string[];
}
