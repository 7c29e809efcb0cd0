/**
 * Documents that follow from register dumps: what slows a path, why a card is not seen, what
 * differs.
 */
import type { Finding, FindingValue } from './finding.ts';

/** Which way payload goes: `write` to host memory, `read` from it. */
export type TransferKind = 'write' | 'read';

/** What a setting costs one way, in bytes per second at expected values of everything unknown. */
export interface RateCost {
  readonly kind: TransferKind;
  /** With the path as the dump shows it; 0 where nothing passes. */
  readonly asFound: number;
  /** With this one thing put right. */
  readonly without: number;
}

/** A finding about a path, with what it costs. */
export interface DiagnosisFinding extends Finding {
  /** Functions it is about, nearest the root first. */
  readonly functions: readonly string[];
  /** One a direction in which it acts; empty where no model prices it. */
  readonly costs: readonly RateCost[];
  /** Largest part of a rate that it takes, 0 to 1; what findings are ordered by. */
  readonly share: number;
  /** Why there is no price. */
  readonly notPriced?: string;
}

/** A Link as a document shows it. */
export interface DiagnosedLink {
  readonly name: string;
  /** `8 GT/s x4`; absent where the dump shows no trained Link. */
  readonly trained?: string;
  /** What both ends can do; absent where one end is not in the dump. */
  readonly possible?: string;
  /** Bytes per second each way that the line code leaves. */
  readonly bytesPerSecond?: number;
}

/** A row of the path, from root to function. */
export interface DiagnosedStep {
  /** Absent for what the dump leaves out. */
  readonly address?: string;
  /** Kind of function, or what is missing. */
  readonly what: string;
  /** The Link that leads on from here. */
  readonly link?: DiagnosedLink;
}

/** Rates that Links and settings of a path allow, bytes per second. */
export interface PathRates {
  readonly write: number;
  readonly read: number;
}

/** The dump that a document is about. */
export interface DumpSource {
  readonly file: string;
  readonly format: string;
}

interface Head {
  readonly tool: { readonly name: string; readonly version: string };
  readonly inputs: readonly { readonly file: string; readonly sha256: string }[];
}

/** One function's path and what is wrong with it. */
export interface FunctionDiagnosis {
  readonly function: string;
  readonly path: readonly DiagnosedStep[];
  /** What of the path is not in the dump. */
  readonly missing: readonly string[];
  /** As found, and with every priced finding put right. */
  readonly rates?: { readonly asFound: PathRates; readonly allRight: PathRates };
  /** Why there are none. */
  readonly notRated?: string;
  /** What the rates rest on besides the dump. */
  readonly taken: readonly FindingValue[];
  /** Most costly first. */
  readonly findings: readonly DiagnosisFinding[];
}

/** `lanewright.diagnosis/1`. */
export interface DiagnosisDocument extends Head {
  readonly schema: 'lanewright.diagnosis/1';
  readonly dump: DumpSource;
  readonly functions: readonly FunctionDiagnosis[];
  /** About bus numbers of the whole dump. */
  readonly findings: readonly Finding[];
  /** What the models leave out. */
  readonly limits: readonly string[];
}

/** Whether a step explains that a card is not seen. */
export type StepStanding = 'found' | 'open' | 'ruled out';

/** One check of why a card is not seen. */
export interface NotSeenStep {
  readonly id: string;
  readonly title: string;
  readonly standing: StepStanding;
  /** What shows it, or what would. */
  readonly because: string;
  readonly clause: string;
  /** What to measure or do; empty where it is ruled out. */
  readonly measure: string;
}

/** `lanewright.not-seen/1`. */
export interface NotSeenDocument extends Head {
  readonly schema: 'lanewright.not-seen/1';
  readonly dump: DumpSource;
  /** The port below which the card should be. */
  readonly port: string;
  readonly path: readonly DiagnosedStep[];
  /** Functions that the dump has below the port after all. */
  readonly seen: readonly string[];
  /** In the order in which to look. */
  readonly steps: readonly NotSeenStep[];
  /** The one measurement to make next. */
  readonly next: { readonly step: string; readonly measure: string };
}

/** One setting that differs between two dumps of a path. */
export interface PathDifference {
  /** `Max_Payload_Size`. */
  readonly setting: string;
  /** Where on the path, the same in both dumps: `function`, `root port`. */
  readonly where: string;
  readonly first: { readonly address: string; readonly text: string };
  readonly second: { readonly address: string; readonly text: string };
  /** Bytes per second of the first dump, and with this one setting as in the second. */
  readonly costs: readonly RateCost[];
  readonly share: number;
  readonly notPriced?: string;
}

/** `lanewright.dump-comparison/1`. */
export interface DumpComparison extends Head {
  readonly schema: 'lanewright.dump-comparison/1';
  readonly first: DumpSource & { readonly function: string; readonly rates?: PathRates };
  readonly second: DumpSource & { readonly function: string; readonly rates?: PathRates };
  /** Costliest first. */
  readonly differences: readonly PathDifference[];
  /** What cannot be compared, a sentence each. */
  readonly notCompared: readonly string[];
}
