/** The document of `compare`: two cases side by side, an old board and a new one or two revisions. */
import type { AccountId } from './accounts.ts';
import type { Answer, AnswerPart, LedgerDirection, RateRange } from './answer.ts';
import type { Level } from './finding.ts';

/** One of the two cases. */
export interface ComparedCase {
  readonly case: Answer['case'];
  readonly parts: readonly AnswerPart[];
  readonly fits?: Level;
  readonly keepsUp?: Level;
  readonly summary: string;
}

/** A value that differs, or that one case has alone. */
export interface ComparedInput {
  /** `streams.multibeam.required`, `module.pcie.width`. */
  readonly path: string;
  readonly before?: string;
  readonly after?: string;
  /** It belongs to a part that is another part in the other case. */
  readonly withPart?: string;
}

/** A finding whose level differs, or that one case has alone. */
export interface ComparedFinding {
  readonly id: string;
  readonly subject: string;
  readonly before?: Level;
  readonly after?: Level;
  /** What the worse side says. */
  readonly message: string;
}

/** What a case gives a stream. */
export interface ComparedStream {
  readonly level: Level;
  readonly required: number;
  readonly sustained: RateRange;
  readonly ceiling: number;
  readonly headroom: number;
  readonly bound: string;
  /** Seconds of one transfer at the expected rate. */
  readonly transferSeconds: number;
  /** On a shared medium: longest wait for it, seconds; absent where nothing bounds it or none waits. */
  readonly worstWaitSeconds?: number;
}

/** Both sides of a stream that either case has; streams are found by name. */
export interface StreamPair {
  readonly name: string;
  readonly before?: ComparedStream;
  readonly after?: ComparedStream;
  /** Expected rate after over before. */
  readonly ratio?: number;
}

/** The hop and direction that binds, or the first, of a case: fractions of its time by account. */
export interface ComparedLink {
  readonly hop: string;
  readonly link: string;
  readonly direction: LedgerDirection;
}

/** An account of both ledgers. */
export interface AccountPairing {
  readonly account: AccountId;
  readonly before: number;
  readonly after: number;
}

export interface CompareDocument {
  readonly schema: 'lanewright.compare/1';
  readonly tool: { readonly name: 'lanewright'; readonly version: string };
  readonly inputs: readonly { readonly file: string; readonly sha256: string }[];
  readonly before: ComparedCase;
  readonly after: ComparedCase;
  /** What the change does to the verdict. */
  readonly verdict: string;
  /** What of the boards stays as it is, and what has to move. */
  readonly stays: readonly string[];
  readonly moves: readonly string[];
  readonly changed: readonly ComparedInput[];
  readonly findings: readonly ComparedFinding[];
  readonly streams: readonly StreamPair[];
  readonly links?: { readonly before: ComparedLink; readonly after: ComparedLink };
  readonly accounts: readonly AccountPairing[];
  /** What either side's rates leave out. */
  readonly limits: readonly string[];
}
