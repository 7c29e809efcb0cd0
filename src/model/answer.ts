import type { AccountId } from './accounts.ts';
import type { AnswerPart, Widener } from './answer-part.ts';
import type { Basis } from './basis.ts';
import type { Finding, Level } from './finding.ts';
import type { Owed } from './owed.ts';
import type { PinSheet } from './pins.ts';
import type { RearTable } from './rear.ts';

export type { AnswerPart, Widener } from './answer-part.ts';

/** Ticks are integers; above 2^53 they are written as decimal strings. */
export type Ticks = number | string;

export type Direction = 'up' | 'down';

/** Of a ledger or a limit: `both` is a bus, whose one set of wires carries either way. */
export type LedgerDirection = Direction | 'both';

export interface LedgerRow {
  readonly account: AccountId;
  /** Name of the stream charged; absent for accounts that belong to the link as a whole. */
  readonly stream?: string;
  readonly ticks: Ticks;
  /** ticks / total, a fraction of one. */
  readonly share: number;
}

export interface HopLedger {
  /** `tern-256 P15 to keel switch`. */
  readonly hop: string;
  /** `2.5 GT/s x4`. */
  readonly link: string;
  /** `up` is towards the root, `down` towards the module; `both` on a bus. */
  readonly direction: LedgerDirection;
  /** Seconds a tick, a decimal rounded to 17 significant digits; exact value is `tickRational`. */
  readonly tickSeconds: number;
  /** `1/10000000000`: the tick as a rational number of seconds. */
  readonly tickRational: string;
  readonly total: Ticks;
  /** Accounts in list order; they sum to `total` exactly. */
  readonly ledger: readonly LedgerRow[];
}

export interface RateRange {
  /** Bytes per second. */
  readonly low: number;
  readonly expected: number;
  readonly high: number;
  /** `bound`: corners of the unknowns; `interval90`: a statistical interval. */
  readonly kind: 'bound' | 'interval90';
}

export interface Limit {
  readonly account: AccountId;
  readonly hop: string;
  readonly direction: LedgerDirection;
  /** The limit in words: `engine pauses 64 ns after each packet`. */
  readonly cause: string;
}

/** A limit and the rate it allows, bytes per second, once every limit before it is lifted. */
export interface LimitStep extends Limit {
  readonly rate: number;
}

export interface Assumption {
  readonly name: string;
  readonly text: string;
  readonly basis: Basis;
  readonly reference?: string;
  /** Which layer supplied it: precedence is case, then part, then default. */
  readonly from: 'case' | 'part' | 'default' | 'derived';
}

/** A published or taken measurement set beside the ceiling and the prediction. */
export interface MeasurementCheck {
  readonly measured: number;
  readonly reference: string;
  /** `within`: low..high holds it; `impossible`: above the ceiling as stated. */
  readonly standing: 'within' | 'above expectation' | 'below expectation' | 'impossible as stated';
  /** measured / expected − 1. */
  readonly difference: number;
  /** The wire alone, everything else at its best: seconds that one transfer takes. */
  readonly wireSeconds: number;
  /** Seconds that one transfer took, as measured. */
  readonly measuredSeconds: number;
  /** Where it falls short: values of one unknown that would explain it alone, each by itself. */
  readonly explainedBy: readonly { readonly name: string; readonly text: string }[];
  /** For an impossible one, the single changes of unit or setting that would make it possible. */
  readonly possibleWith: readonly { readonly change: string; readonly ceiling: number }[];
}

export interface StreamAnswer {
  readonly name: string;
  readonly path: readonly string[];
  /** `to host`: the module writes; `from host`: the module reads. */
  readonly direction: 'to host' | 'from host';
  readonly level: Level;
  /** Bytes per second while the front end is busy; the link has to carry this. */
  readonly required: number;
  /** Bytes per second over a long time; what a store has to absorb. */
  readonly average: number;
  /** Asked reserve as a fraction: 0.2 for 20 %. */
  readonly askedHeadroom: number;
  readonly sustained: RateRange;
  /** Wire and standard only, at the cheapest legal choice, this stream alone. */
  readonly ceiling: number;
  /** low / required − 1. */
  readonly headroom: number;
  readonly limitedBy: readonly Limit[];
  /** What binds now, and what would bind next were it lifted, in order. */
  readonly chain: readonly LimitStep[];
  readonly widenedBy?: Widener;
  readonly assumptions: readonly Assumption[];
  readonly measured?: readonly MeasurementCheck[];
  readonly message: string;
  readonly next: string;
}

export interface Rounding {
  readonly what: string;
  readonly seconds: string;
  readonly ticks: number;
}

export interface OptionDependence {
  readonly part: string;
  readonly option: string;
  readonly chosen: string;
  /** What another choice of this one option would change. */
  readonly otherwise: readonly { readonly choice: string; readonly changes: readonly string[] }[];
}

/** The document of `check`; `rate` and `fit` sections are absent when not asked for. */
export interface Answer {
  readonly schema: 'lanewright.answer/1';
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
  readonly verdict: {
    readonly fits?: Level;
    readonly keepsUp?: Level;
    readonly summary: string;
    /** The decision, or the one measurement or data-sheet value that would make it. */
    readonly decide: string;
    /** Build options the verdict depends on. */
    readonly options?: readonly OptionDependence[];
  };
  readonly fit?: { readonly findings: readonly Finding[] };
  /** Rear I/O signal by signal, where the module lists the pins it uses. */
  readonly rear?: readonly RearTable[];
  /** Pins where two boards meet, where a part lists them. */
  readonly pins?: readonly PinSheet[];
  readonly rate?: {
    readonly links: readonly HopLedger[];
    readonly streams: readonly StreamAnswer[];
    readonly roundings: readonly Rounding[];
    /** What the model leaves out, said before its numbers are used. */
    readonly limits: readonly string[];
  };
  /** What is owed with a document to sign; only where that was asked for. */
  readonly owed?: Owed;
  readonly cautions: readonly string[];
  readonly sources: readonly string[];
}
