/** The documents of `calibrate` and `predict`. Rates in bytes per second, times in seconds. */
import type { Answer, AnswerPart, Limit, RateRange } from './answer.ts';
import type { Basis, Place } from './basis.ts';
import type { Finding, Level } from './finding.ts';

/** One parameter of the device or its host, and where it lands. */
export interface CalibratedParameter {
  /** Key of the part, such as `dma.setup_per_transfer`. */
  readonly key: string;
  readonly part: 'module' | 'host';
  readonly title: string;
  /** Unit of the numbers: seconds, hertz, bytes, or none for a count. */
  readonly unit: 's' | 'Hz' | 'B' | '';
  /** `fitted`: moved freely; `tried`: best of a list; `held`: at nothing, as no measurement asks for it. */
  readonly how: 'fitted' | 'tried' | 'held';
  readonly value: number;
  /** 90 % interval; equal to the value where it was not fitted. */
  readonly low: number;
  readonly high: number;
  /** As the part states it. */
  readonly text: string;
  /** Whether the measurements tell it. */
  readonly settled: boolean;
  /** The bound that it ended on. */
  readonly bound?: 'low' | 'high';
}

/** One explanation of the measured times, fitted. */
export interface ExplanationRow {
  readonly name: string;
  readonly chosen: boolean;
  /** Within the criterion's margin: the measurements do not decide against it. */
  readonly supported: boolean;
  /** Criterion above the least; absent where there are too few points to judge it. */
  readonly difference?: number;
  /** Freely moving parameters. */
  readonly parameters: number;
  /** Root mean square of predicted / measured − 1 in time. */
  readonly residual: number;
  readonly values: readonly { readonly key: string; readonly text: string }[];
}

/** One measured transfer beside its fitted prediction. */
export interface CalibratedPoint {
  readonly stream: string;
  readonly kind: 'write' | 'read';
  readonly sizeBytes: number;
  readonly link: string;
  readonly measured: number;
  readonly predicted: RateRange;
  readonly ceiling: number;
  /** predicted / measured − 1 of the time. */
  readonly residual: number;
  /** 1, or less where the error was found to be gross. */
  readonly weight: number;
  readonly place: Place;
}

/** How one kind of transfer was measured. */
export interface CalibratedKindRow {
  readonly kind: 'write' | 'read';
  readonly points: number;
  /** Relative standard deviation of times about the fitted model, leverage allowed for. */
  readonly scatter: number;
  readonly degrees: number;
  readonly sizes: { readonly low: number; readonly high: number };
  readonly links: readonly string[];
}

/** A measurement worth making. */
export interface NextRow {
  readonly kind: 'write' | 'read';
  readonly sizeBytes: number;
  readonly link: string;
  /** Of which stream's rate it narrows the range. */
  readonly narrows: string;
  /** Relative half width of that range now, and expected afterwards. */
  readonly before: number;
  readonly after: number;
  /** Pairs of explanations that it tells apart. */
  readonly separates: readonly (readonly [string, string])[];
  readonly text: string;
}

/** A predicted transfer. */
export interface PredictionRow {
  readonly stream: string;
  readonly kind: 'write' | 'read';
  readonly sizeBytes: number;
  readonly link: string;
  /** Of one measurement of it. */
  readonly range: RateRange;
  readonly ceiling: number;
  readonly limitedBy: Limit;
  /** What the stream needs with its headroom, and how the range stands to it. */
  readonly required: number;
  readonly need: number;
  readonly level: Level;
  /** In what it lies outside of what was measured; empty within. */
  readonly extrapolated: readonly string[];
  /** Relative standard deviations that the width is made of. */
  readonly width: {
    readonly parameters: number;
    readonly model: number;
    readonly explanations: number;
  };
}

/** What was measured, as far as anybody stated it: `not stated` elsewhere. */
export interface IdentityRow {
  readonly name: string;
  readonly text: string;
}

/** The document of `calibrate`. */
export interface CalibrationDocument {
  readonly schema: 'lanewright.calibration/1';
  readonly tool: Answer['tool'];
  readonly case: Answer['case'];
  readonly inputs: Answer['inputs'];
  readonly parts: readonly AnswerPart[];
  readonly date: string;
  readonly identity: readonly IdentityRow[];
  readonly verdict: {
    readonly level: Level;
    readonly summary: string;
    readonly decide: string;
  };
  readonly criterion: string;
  /** Least criterion first. */
  readonly explanations: readonly ExplanationRow[];
  /** Of the chosen explanation. */
  readonly parameters: readonly CalibratedParameter[];
  /** Of the fitted parameters, in their units: rows and columns by `keys`. */
  readonly covariance: {
    readonly keys: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  /** Combinations of parameters that the measurements cannot tell apart, a sentence each. */
  readonly unseparated: readonly string[];
  readonly kinds: readonly CalibratedKindRow[];
  readonly points: readonly CalibratedPoint[];
  readonly predictions: readonly PredictionRow[];
  readonly next: readonly NextRow[];
  readonly findings: readonly Finding[];
  /** What could not be read in the evidence, as one line each. */
  readonly problems: readonly string[];
  readonly limits: readonly string[];
  readonly sources: readonly string[];
}

/** The document of `predict`. */
export interface PredictionDocument {
  readonly schema: 'lanewright.prediction/1';
  readonly tool: Answer['tool'];
  readonly case: Answer['case'];
  readonly inputs: Answer['inputs'];
  readonly parts: readonly AnswerPart[];
  /** The calibration that the module's part holds; absent where it holds none. */
  readonly basedOn?: {
    readonly part: string;
    readonly basis: Basis;
    readonly date: string;
    readonly explanation: string;
    readonly conditions: string;
    readonly identity: readonly IdentityRow[];
    readonly evidence: readonly { readonly file: string; readonly sha256: string }[];
    readonly kinds: readonly CalibratedKindRow[];
    /** Other explanations that the ranges cover as well. */
    readonly alternatives: readonly string[];
  };
  readonly predictions: readonly PredictionRow[];
  readonly next: readonly NextRow[];
  readonly findings: readonly Finding[];
  readonly limits: readonly string[];
  readonly sources: readonly string[];
}
