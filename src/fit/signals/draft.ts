/** What the rules of the signals around the link share. */
import type { Finding, Level } from '../../model/finding.ts';
import type { Cited } from '../../standards/mezzanine-cited.ts';
import { citation } from '../../standards/mezzanine-cited.ts';
import type { Given, GivenQuantity } from '../../system/given.ts';
import { given, measured, tabled, weigh } from '../weigh.ts';

/** A value of one side, named for the finding; absent where its part does not state it. */
export interface Side {
  readonly name: string;
  readonly value: Given<unknown> | GivenQuantity | undefined;
}

export interface SignalDraft {
  readonly id: string;
  readonly subject: string;
  readonly row: Cited;
  readonly sides: readonly Side[];
  /** Judged where every side is stated. */
  readonly judge: () => { readonly level: Level; readonly message: string; readonly next: string };
}

function isQuantity(value: Given<unknown> | GivenQuantity): value is GivenQuantity {
  return typeof value.value === 'object' && value.value !== null && 'dimension' in value.value;
}

/**
 * The finding of two sides of a signal: none where nobody speaks of it, `unknown` where one side does
 * and the other should, and what `judge` says where both do. The table's row decides with them.
 */
export function signalFinding(draft: SignalDraft): readonly Finding[] {
  const { id, subject, row, sides, judge } = draft;
  const stated = sides.filter((side) => side.value !== undefined);
  if (stated.length === 0) return [];
  const values = stated.map(({ name, value }) =>
    isQuantity(value!) ? measured(name, value) : given(name, value!),
  );
  const clause = citation(row);
  const missing = sides.filter((side) => side.value === undefined).map((side) => side.name);
  if (missing.length > 0) {
    const message = `not stated: ${missing.join(', ')}`;
    const next = `Get ${missing.join(' and ')} from the data sheet.`;
    return [weigh({ id, level: 'unknown', subject, message, decidedBy: values, clause, next })];
  }
  const rule = tabled('rule', row.clause, row);
  return [weigh({ id, subject, decidedBy: [...values, rule], clause, ...judge() })];
}
