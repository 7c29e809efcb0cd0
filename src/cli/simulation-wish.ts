/** What `simulate` is asked for on the command line, and what comes of it. */
import type { SimulationDocument } from '../engine/index.ts';

/** What the command line asks for. */
export interface SimulationWish {
  readonly seed: number;
  readonly runs: number;
  readonly workers?: number;
  readonly time?: string;
  readonly skip: boolean;
  readonly turns: 'weighted' | 'equal';
  readonly reads?: 'stated' | 'fixed' | 'exponential';
  readonly series?: string;
  readonly step?: string;
  readonly waveform?: string;
  readonly diagram?: string;
  readonly diagramClocks?: number;
}

/** The document of all runs, and the shown name of the series where one was written. */
export interface SimulationDone {
  readonly document: SimulationDocument;
  readonly series?: string;
  /** Other files written, a line each. */
  readonly written?: readonly string[];
}
