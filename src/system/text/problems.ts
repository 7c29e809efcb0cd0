import type { Place } from '../../model/basis.ts';
import type { Problem } from '../../model/problem.ts';

/** Every code a reader of case and part files may report; docs/errors.md has an example of each. */
export const problemCodes = [
  'yaml-syntax',
  'yaml-limit',
  'yaml-unused',
  'duplicate-key',
  'wrong-format',
  'unknown-key',
  'missing-key',
  'fixed-key',
  'wrong-shape',
  'empty-value',
  'bad-text',
  'bad-name',
  'bad-quantity',
  'bad-number',
  'not-exact',
  'out-of-range',
  'not-allowed',
  'contradiction',
  'unknown-part',
  'wrong-kind',
  'unknown-site',
  'unknown-option',
  'unknown-choice',
  'option-conflict',
  'duplicate-id',
  'duplicate-name',
  'no-reference',
] as const;
export type ProblemCode = (typeof problemCodes)[number];

/** What a problem says: what was expected, what came, and what to do about it. */
export interface Complaint {
  readonly expected: string;
  readonly got: string;
  readonly next: string;
}

/** Collects problems and warnings, so that a reader can go on after the first. */
export class Collector {
  readonly #problems: Problem[] = [];
  readonly #warnings: Problem[] = [];

  /** Adds a problem: the text cannot be used. */
  report(code: ProblemCode, place: Place, complaint: Complaint): void {
    this.#problems.push({ code, place, ...shown(complaint) });
  }

  /** Adds a warning: the text can be used, with this caution. */
  warn(code: ProblemCode, place: Place, complaint: Complaint): void {
    this.#warnings.push({ code, place, ...shown(complaint) });
  }

  /** Takes in problems and warnings found by another reader. */
  include(problems: readonly Problem[], warnings: readonly Problem[]): void {
    this.#problems.push(...problems);
    this.#warnings.push(...warnings);
  }

  /** Takes in all that another collector has. */
  take(other: Collector): void {
    this.include(other.#problems, other.#warnings);
  }

  /** True when no problem has been reported; warnings do not count. */
  get clean(): boolean {
    return this.#problems.length === 0;
  }

  /** Problems by place, each once. Files keep the order in `files`; others follow by name. */
  problems(files: readonly string[] = []): readonly Problem[] {
    return arranged(this.#problems, files);
  }

  /** Warnings by place, each once, as for problems. */
  warnings(files: readonly string[] = []): readonly Problem[] {
    return arranged(this.#warnings, files);
  }
}

/**
 * Characters that move a cursor or turn text around, written as escapes: problems quote texts from
 * outside and are shown on terminals.
 */
export function visible(text: string): string {
  return text.replace(
    /[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu,
    (c) => `\\u{${c.codePointAt(0)?.toString(16)}}`,
  );
}

function shown({ expected, got, next }: Complaint): Complaint {
  return { expected: visible(expected), got: visible(got), next: visible(next) };
}

function arranged(found: readonly Problem[], files: readonly string[]): readonly Problem[] {
  const rank = new Map<string, number>();
  for (const file of files) if (!rank.has(file)) rank.set(file, rank.size);
  const unique = new Map<string, Problem>();
  for (const p of found) {
    const { file, line, column } = p.place;
    const key = JSON.stringify([p.code, file, line, column, p.expected, p.got]);
    if (!unique.has(key)) unique.set(key, p);
  }
  const fileRank = (p: Problem) => rank.get(p.place.file) ?? rank.size;
  // Array sort is stable, so problems at one place stay in the order they were found.
  return [...unique.values()].sort(
    (a, b) =>
      fileRank(a) - fileRank(b) ||
      byText(a.place.file, b.place.file) ||
      a.place.line - b.place.line ||
      a.place.column - b.place.column,
  );
}

/** Order by UTF-16 code units: the same in every locale. */
function byText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
