/** From a drafted finding to a finding: what it rests on decides how far it may be believed. */
import { type Basis, bases } from '../model/basis.ts';
import type { Finding, FindingValue, Level } from '../model/finding.ts';
import { type Cited, citation } from '../standards/mezzanine-cited.ts';
import type { Given, GivenQuantity } from '../system/given.ts';

/** A finding before its level is weighed by what it rests on. */
export interface Draft {
  readonly id: string;
  readonly level: Level;
  readonly subject: string;
  readonly message: string;
  /** The values that decide the level. */
  readonly decidedBy: readonly FindingValue[];
  /** Further values shown beside them. */
  readonly beside?: readonly FindingValue[];
  readonly clause: string;
  readonly next: string;
}

/** The weakest of some bases: the one latest in the list, with `memory` weakest of all. */
export function weakest(all: readonly Basis[]): Basis {
  const rank = (basis: Basis) => (basis === 'memory' ? bases.length : bases.indexOf(basis));
  return all.reduce<Basis>((worst, b) => (rank(b) > rank(worst) ? b : worst), 'standard');
}

/**
 * A value from memory that decides turns `ok` into `caution`, and is named in the next step. It
 * never softens a `stop`: boards stay apart until it is confirmed.
 */
export function weigh(draft: Draft): Finding {
  const { id, subject, message, decidedBy, beside = [], clause } = draft;
  const recalled = decidedBy.filter((v) => v.basis === 'memory');
  const level = draft.level === 'ok' && recalled.length > 0 ? 'caution' : draft.level;
  return {
    id,
    level,
    subject,
    message,
    values: [...decidedBy, ...beside],
    clause,
    basis: weakest(decidedBy.map((v) => v.basis)),
    next: [confirm(recalled, draft.level), draft.next].filter((text) => text !== '').join(' '),
  };
}

function confirm(recalled: readonly FindingValue[], level: Level): string {
  if (recalled.length === 0 || level === 'unknown') return '';
  const names = [...new Set(recalled.map((v) => `${v.name} (${v.reference ?? 'no reference'})`))];
  const when = level === 'stop' ? 'Confirm before mating' : 'Confirm';
  return `${when}: ${names.join('; ')}.`;
}

/** A value of a part or the case, as written there. */
export function given(name: string, value: Given<unknown>, text?: string): FindingValue {
  const shown = text ?? String(value.value);
  return {
    name,
    text: shown,
    basis: value.basis,
    ...(value.reference === undefined ? {} : { reference: value.reference }),
  };
}

/** A quantity of a part or the case, as written there. */
export function measured(name: string, value: GivenQuantity): FindingValue {
  return given(name, value, value.value.text);
}

/** A row of a standards table. */
export function tabled(name: string, text: string, row: Cited): FindingValue {
  return { name, text, basis: row.basis, reference: citation(row) };
}

/**
 * A value worked out from others; it is no better than the weakest of them. It has a reference only
 * when they share one; otherwise theirs stand beside it.
 */
export function derived(name: string, text: string, from: readonly FindingValue[]): FindingValue {
  const references = new Set(from.map((v) => v.reference).filter((reference) => reference));
  const [reference] = references;
  return {
    name,
    text,
    basis: weakest(from.map((v) => v.basis)),
    ...(reference !== undefined && references.size === 1 ? { reference } : {}),
  };
}
