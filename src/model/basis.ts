/**
 * Where a value comes from. `standard`, `datasheet`, `measured` and `practice` carry a reference;
 * `memory` marks a table row recalled but not confirmed in a text, and `assumed` a stated guess.
 */
export const bases = [
  'standard',
  'datasheet',
  'measured',
  'practice',
  'memory',
  'assumed',
] as const;
export type Basis = (typeof bases)[number];

/** A place in an input text. Lines and columns count from 1. */
export interface Place {
  /** File name relative to the folder the command ran in, or to the parts folder. */
  readonly file: string;
  readonly line: number;
  readonly column: number;
}
