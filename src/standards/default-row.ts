/** A row of the table of default ranges, and what its range may depend on. */
import type { Basis } from '../model/basis.ts';
import type { Clocking, PcieGeneration, PcieWidth } from './pcie-link.ts';

/** What a default may depend on. */
export interface DefaultContext {
  readonly generation: PcieGeneration;
  readonly width: PcieWidth;
  /** Fastest generation that either port of the link knows. */
  readonly fastest?: PcieGeneration;
  readonly clocking?: Clocking;
  readonly extendedSynch?: boolean;
  /** Both ports take part in scaled flow control. */
  readonly scaledFlowControl?: boolean;
  /** Max_Payload_Size of the path, bytes. */
  readonly maxPayload: number;
  /** Read Completion Boundary, bytes. */
  readonly readCompletionBoundary: number;
}

export interface Range {
  readonly low: number;
  readonly expected: number;
  readonly high: number;
}

export interface DefaultRow {
  readonly title: string;
  /** Unit of the range; times are in picoseconds, whole. */
  readonly unit:
    | 'ps'
    | 'bytes'
    | 'count'
    | 'per second'
    | 'symbol times, blocks or flits'
    | 'errors in 10^18 bits'
    | '0 or 1';
  readonly range: (c: DefaultContext) => Range;
  readonly basis: Basis;
  readonly reference: string;
  /** The question whose answer replaces the default. */
  readonly ask: string;
}

/** A range of one value. */
export const exact = (value: number): Range => ({ low: value, expected: value, high: value });
