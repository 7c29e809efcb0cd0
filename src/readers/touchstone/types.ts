/** Network parameters of one file, as numbers. */

/** What the numbers of a file are. */
export type NetworkParameter = 'S' | 'Y' | 'Z' | 'H' | 'G';

/** A network by frequency. Matrices are stored row by row: `[(f * ports + to) * ports + from]`. */
export interface NetworkData {
  readonly file: string;
  readonly version: '1' | '2';
  readonly ports: number;
  readonly parameter: NetworkParameter;
  /** Ohms, one a port. */
  readonly reference: readonly number[];
  /** Hertz, rising. */
  readonly frequencies: Float64Array;
  readonly real: Float64Array;
  readonly imaginary: Float64Array;
  /** Mixed-mode names of a file of version 2, in port order: `D2,3`, `C2,3`, `S1`. */
  readonly mixedModes?: readonly string[];
}

/** Codes of what may be wrong in such a file; docs/channel.md explains each. */
export const touchstoneProblemCodes = [
  'touchstone-count',
  'touchstone-empty',
  'touchstone-keyword',
  'touchstone-number',
  'touchstone-option',
  'touchstone-order',
  'touchstone-ports',
  'touchstone-truncated',
] as const;
export type TouchstoneProblemCode = (typeof touchstoneProblemCodes)[number];
