/** The document of `reconcile`: measurements beside the prediction, and where the difference goes. */
import type { AccountId } from './accounts.ts';
import type { Answer, AnswerPart, Direction, RateRange } from './answer.ts';
import type { Place } from './basis.ts';
import type { Finding, Level } from './finding.ts';

/** How a measurement stands to the prediction. Above the ceiling nothing can be, as stated. */
export type Standing =
  | 'within'
  | 'above expectation'
  | 'below expectation'
  | 'impossible as stated';

/** One account of the ledger, seconds per transfer. */
export interface AccountSeconds {
  readonly account: AccountId;
  readonly seconds: number;
}

/** Where the time of one transfer goes at expected values, and what the measurement leaves over. */
export interface DifferenceLedger {
  /** The hop and direction that bind the stream. */
  readonly hop: string;
  readonly direction: Direction;
  /** Accounts at expected values; they sum to `predictedSeconds`. */
  readonly predicted: readonly AccountSeconds[];
  readonly predictedSeconds: number;
  readonly measuredSeconds: number;
  /** measured − predicted: below zero where the transfer took less than expected. */
  readonly restSeconds: number;
  /**
   * The accounts that the rest can belong to: those which grow, or shrink, where one unknown is set so
   * that it explains the point. Empty where nothing known explains it.
   */
  readonly restIn: readonly AccountId[];
}

/** One unknown, set so that the prediction meets one measurement. */
export interface PointExplanation {
  /** Identifier of the parameter: `tern-256.gap_per_packet`. */
  readonly id: string;
  readonly name: string;
  /** The value in words, and as a number of seconds, bytes or the parameter's own unit. */
  readonly text: string;
  readonly value: number;
  /** What the case, a part or a default says of it. */
  readonly stated: string;
  /** True where the value lies in that range. */
  readonly inRange: boolean;
  /** The account that changes most with it. */
  readonly account?: AccountId;
  /** What to ask or measure to know it. */
  readonly ask: string;
}

/** A single change under which a measurement is no longer above the ceiling. */
export interface PossibleChange {
  readonly kind: 'unit' | 'setting';
  readonly change: string;
  /** The measured rate under the change, bytes per second. */
  readonly rate: number;
  /** The ceiling under the change, bytes per second. */
  readonly ceiling: number;
}

/** One measured point. Rates in bytes per second. */
export interface ReconciledPoint {
  readonly stream: string;
  readonly direction: 'to host' | 'from host';
  readonly kind: 'write' | 'read';
  readonly sizeBytes: number;
  /** True where the evidence does not state the size and the case's, or a default, is taken. */
  readonly sizeAssumed?: true;
  /** Settings that the evidence states, in words. */
  readonly settings: readonly string[];
  readonly conditions: Readonly<Record<string, string>>;
  /** Of its first rows. */
  readonly places: readonly Place[];
  readonly reference?: string;
  readonly repeats: number;
  /** Least, median and greatest of the repeats. */
  readonly measured: { readonly low: number; readonly median: number; readonly high: number };
  readonly predicted: RateRange;
  readonly ceiling: number;
  readonly standing: Standing;
  /** measured / expected − 1. */
  readonly difference: number;
  readonly ledger: DifferenceLedger;
  readonly explainedBy: readonly PointExplanation[];
  readonly possibleWith: readonly PossibleChange[];
}

/** One unknown fitted to all points at once, everything else as expected. */
export interface FittedUnknown {
  readonly id: string;
  readonly name: string;
  readonly text: string;
  readonly value: number;
  readonly stated: string;
  readonly inRange: boolean;
  /** Root mean square of predicted / measured − 1, in time, with this value. */
  readonly residual: number;
  readonly account?: AccountId;
  readonly ask: string;
}

/** What kind of time the difference is, by how it grows with the transfer. */
export interface Shape {
  readonly id: ShapeId;
  readonly text: string;
  readonly residual: number;
}
export type ShapeId =
  /** As much for each transfer: a set-up. */
  | 'per transfer'
  /** As much for each packet: a pause. */
  | 'per packet'
  /** As much for each byte: a step in series. */
  | 'per byte'
  /** A rate that is not passed, whatever the link: what is in flight over its latency. */
  | 'plateau'
  /** A time that no transfer goes below. */
  | 'floor'
  /** A time for each begun step of some size. */
  | 'steps';

/** All points of one stream and kind together. */
export interface Together {
  readonly stream: string;
  readonly kind: 'write' | 'read';
  /** Points that were fitted, of how many that are possible as stated. */
  readonly fitted: number;
  readonly points: number;
  /** Root mean square of predicted / measured − 1, in time, at expected values. */
  readonly residual: number;
  /** Best first; only those that take away some of the residual. */
  readonly unknowns: readonly FittedUnknown[];
  /** How many of `unknowns` explain the points as well as the first, itself included. */
  readonly tied: number;
  readonly shape?: Shape;
  /** Other shapes that the points do not decide against. */
  readonly otherShapes: readonly Shape[];
}

/** Totals of one direction of a packet log or capture. */
export interface TrafficDirection {
  readonly direction: string;
  readonly packets: number;
  readonly bytes?: number;
  readonly kinds: readonly {
    readonly kind: string;
    readonly packets: number;
    readonly bytes?: number;
  }[];
  /** Bytes over the whole file's time, and in the busiest window, bytes per second. */
  readonly rate?: number;
  readonly peak?: number;
  /** Times between packets, start to start: bins that hold any, seconds. */
  readonly gaps?: readonly {
    readonly from: number;
    readonly below: number;
    readonly packets: number;
  }[];
  /** The payload of a stream beside its prediction, where the kinds of packet allow it. */
  readonly compared?: {
    readonly stream: string;
    readonly payloadBytes: number;
    readonly rate: number;
    /** What the case asks of the stream: a stream that gets it is within, whatever it could have. */
    readonly asked: number;
    readonly predicted: RateRange;
    readonly ceiling: number;
    readonly standing: Standing;
  };
}

/** A packet log or capture. */
export interface TrafficEvidence {
  readonly file: string;
  readonly format: string;
  readonly packets: number;
  readonly spanSeconds?: number;
  readonly windowSeconds?: number;
  readonly directions: readonly TrafficDirection[];
}

/** Rows that made no point, and why. */
export interface UnusedEvidence {
  readonly reason: string;
  readonly rows: number;
  readonly place: Place;
  readonly text: string;
  readonly next: string;
}

/** The document of `reconcile`. */
export interface Reconciliation {
  readonly schema: 'lanewright.reconcile/1';
  readonly tool: Answer['tool'];
  readonly case: Answer['case'];
  /** Case, parts and evidence. */
  readonly inputs: Answer['inputs'];
  /** The files of `inputs` that are evidence. */
  readonly evidence: readonly string[];
  readonly parts: readonly AnswerPart[];
  readonly verdict: {
    readonly level: Level;
    readonly standing: 'agrees' | 'differs' | 'not decidable';
    readonly summary: string;
    /** The decision, or the one measurement that would make it. */
    readonly decide: string;
  };
  readonly points: readonly ReconciledPoint[];
  /** Points beyond the number that is rated. */
  readonly pointsLeftOut: number;
  readonly together: readonly Together[];
  readonly traffic: readonly TrafficEvidence[];
  readonly unused: readonly UnusedEvidence[];
  readonly findings: readonly Finding[];
  /** What could not be read in the evidence, as one line each. */
  readonly problems: readonly string[];
  readonly limits: readonly string[];
  readonly sources: readonly string[];
}
