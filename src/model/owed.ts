/**
 * What is owed with the document that is signed: what to order, the interfaces as agreed, which
 * requirement is shown by what, how to bring the boards up, and what to measure to accept them.
 */
import type { AccountId } from './accounts.ts';
import type { AnswerPart, Widener } from './answer-part.ts';
import type { Basis } from './basis.ts';
import type { Level } from './finding.ts';

/** One build option of an ordered part. */
export interface OrderOption {
  readonly option: string;
  readonly chosen: string;
  /** What each other choice would change of findings and streams; empty where none changes any. */
  readonly otherwise: readonly { readonly choice: string; readonly changes: readonly string[] }[];
}

/** A part as it has to be ordered for the answer to hold. */
export interface OrderLine {
  readonly kind: AnswerPart['kind'];
  readonly id: string;
  readonly title: string;
  readonly site?: string;
  readonly options: readonly OrderOption[];
  /** Questions for the maker that no data sheet of the part answers. */
  readonly ask: readonly string[];
}

/** One agreed value of one side of an interface. */
export interface InterfaceRow {
  /** `P15`, `3.3V rail`, `tern-256 to sluice-128`, `stream multibeam`. */
  readonly interface: string;
  readonly item: string;
  /** Whose value it is: a part, a site, the case. */
  readonly side: string;
  readonly text: string;
  readonly basis: Basis;
  readonly reference?: string;
}

export type VerificationMethod = 'analysis' | 'inspection' | 'test' | 'demonstration';

/** How a requirement stands. `owed`: its method is still to be carried out; nothing speaks against. */
export type Compliance =
  | 'met'
  | 'met with caution'
  | 'not met'
  | 'not decided'
  | 'owed'
  | 'not shown';

/** One requirement of the case's specification. */
export interface ComplianceRow {
  readonly id: string;
  readonly text: string;
  readonly about: string;
  readonly method: VerificationMethod;
  readonly shown: Compliance;
  /** What analysis says; absent where the answer holds nothing of that name. */
  readonly level?: Level;
  /** What it rests on, or what was looked for in vain. */
  readonly evidence: readonly string[];
}

/** One step of bringing the boards up. */
export interface BringUpStep {
  readonly title: string;
  readonly action: string;
  readonly expect: readonly { readonly name: string; readonly text: string }[];
  readonly record: readonly string[];
  /** The command that reads what was recorded, where there is one. */
  readonly command?: string;
}

/** One transfer to measure. Rates in bytes per second. */
export interface AcceptancePoint {
  readonly stream: string;
  readonly direction: 'to host' | 'from host';
  readonly kind: 'write' | 'read';
  /** Of one transfer; 0 where the stream's own are of many sizes. */
  readonly sizeBytes: number;
  readonly low: number;
  readonly expected: number;
  readonly high: number;
  readonly ceiling: number;
  /** Required, and required with the asked headroom: only at the stream's own transfers. */
  readonly limits?: { readonly pass: number; readonly fail: number };
}

export interface Acceptance {
  /** What has to be set as the answer has it. */
  readonly settings: readonly { readonly name: string; readonly text: string }[];
  readonly points: readonly AcceptancePoint[];
  /** What passes and what fails, in words. */
  readonly rules: readonly string[];
  readonly record: readonly string[];
  /**
   * The command that takes the filled-in form; absent where points are of all streams at once, which no
   * form can hold.
   */
  readonly command?: string;
}

/** What each unknown alone does to the rate of one stream, bytes per second, widest first. */
export interface Narrowing {
  readonly stream: string;
  readonly expected: number;
  readonly unknowns: readonly Widener[];
}

/** One part of a packet in order of transmission. */
export interface PacketPart {
  readonly name: string;
  readonly bytes: number;
  readonly account: AccountId;
  /** Of the fabric's base specification. */
  readonly clause: string;
}

/** One full packet of a stream on the module's link; bytes are counted before the line code. */
export interface PacketAnatomy {
  readonly stream: string;
  readonly packet: 'memory write' | 'completion with data';
  readonly hop: string;
  readonly link: string;
  readonly parts: readonly PacketPart[];
  readonly bytes: number;
  readonly payload: number;
  readonly wireSeconds: number;
}

/** What is owed with an answer. */
export interface Owed {
  readonly order: readonly OrderLine[];
  readonly interfaces: readonly InterfaceRow[];
  /** Absent where the case lists no requirement. */
  readonly compliance?: readonly ComplianceRow[];
  /** Streams that an unknown moves, and what to ask to know it; absent where there is none. */
  readonly narrowing?: readonly Narrowing[];
  /** How full packets are built; absent where no link carries such. */
  readonly anatomy?: readonly PacketAnatomy[];
  readonly bringUp: readonly BringUpStep[];
  /** Absent where no stream can be rated. */
  readonly acceptance?: Acceptance;
}
