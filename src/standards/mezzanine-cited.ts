import type { Basis } from '../model/basis.ts';

/**
 * Where a table row comes from. `memory` rows were recalled and not confirmed in a text: a finding
 * they decide is never better than `caution`.
 */
export interface Cited {
  readonly document: string;
  /** Clause or subject inside the document, and the public text it was read in, if one was. */
  readonly clause: string;
  readonly basis: Basis;
}

/** The one wording of a row's source: `document, clause`. */
export function citation(row: Cited): string {
  return `${row.document}, ${row.clause}`;
}
