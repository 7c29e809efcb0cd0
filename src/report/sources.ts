/** References written once and cited by number, so that a table has room for its numbers. */
import type { Answer, Assumption, StreamAnswer } from '../model/answer.ts';
import type { Basis } from '../model/basis.ts';
import type { Reconciliation } from '../model/reconcile.ts';
import { cleanText } from './clean.ts';
import { basisWords } from './words.ts';

/** Anything with a basis and perhaps a reference. */
export interface Based {
  readonly basis: Basis;
  readonly reference?: string;
}

/** A numbered list of sources; numbers count from 1. */
export interface SourceList {
  readonly list: readonly string[];
  /** Number of a reference, or undefined when it is empty or not in the list. */
  number(reference: string | undefined): number | undefined;
}

/** Numbers references in order of first appearance; the same wording gets the same number. */
export function numberSources(references: readonly (string | undefined)[]): SourceList {
  const numbers = new Map<string, number>();
  for (const reference of references) {
    const text = cleanText(reference ?? '');
    if (text !== '' && !numbers.has(text)) numbers.set(text, numbers.size + 1);
  }
  return {
    list: [...numbers.keys()],
    number: (reference) => numbers.get(cleanText(reference ?? '')),
  };
}

/** The sources of an answer: its own list first, then any reference that the list lacks. */
export function sourcesOf(answer: Answer, taken?: Reconciliation): SourceList {
  const values = (answer.fit?.findings ?? []).flatMap((f) => f.values);
  const assumed = (answer.rate?.streams ?? []).flatMap((s) => s.assumptions);
  return numberSources([
    ...answer.sources,
    ...values.map((v) => v.reference),
    ...assumed.map((a) => a.reference),
    ...(answer.owed?.interfaces ?? []).map((r) => r.reference),
    ...(taken?.sources ?? []),
  ]);
}

/** `data sheet [4]`, or only the basis when there is no reference. */
export function citation(value: Based, sources: SourceList): string {
  const number = sources.number(value.reference);
  return number === undefined ? basisWords[value.basis] : `${basisWords[value.basis]} [${number}]`;
}

/** Assumptions under the streams they are about. */
export interface AssumptionGroup {
  readonly about: string;
  readonly assumptions: readonly Assumption[];
}

const keyOf = (a: Assumption) => JSON.stringify([a.name, a.text, a.basis, a.reference, a.from]);

/** What every stream rests on, once, then what each rests on beside that; empty groups left out. */
export function assumptionGroups(streams: readonly StreamAnswer[]): AssumptionGroup[] {
  const [first, ...others] = streams;
  if (first === undefined) return [];
  const sets = others.map((s) => new Set(s.assumptions.map(keyOf)));
  const common =
    others.length === 0
      ? []
      : first.assumptions.filter((a) => sets.every((set) => set.has(keyOf(a))));
  const shared = new Set(common.map(keyOf));
  const groups = [
    { about: 'every stream', assumptions: common },
    ...streams.map((s) => ({
      about: cleanText(s.name, '(unnamed)'),
      assumptions: s.assumptions.filter((a) => !shared.has(keyOf(a))),
    })),
  ];
  return groups.filter((g) => g.assumptions.length > 0);
}
