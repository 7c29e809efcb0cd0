import type { Place } from './basis.ts';

/**
 * One thing wrong with an input: where, what was expected, what came, and what to do next. Readers
 * collect all problems of a file and report them together.
 */
export interface Problem {
  /** Stable code, for example `unknown-key`; docs/errors.md explains each in one sentence. */
  readonly code: string;
  readonly place: Place;
  readonly expected: string;
  readonly got: string;
  readonly next: string;
}

/** Thrown by the convenience entries when an input cannot be used; holds every problem found. */
export class InputError extends Error {
  readonly problems: readonly Problem[];

  constructor(problems: readonly Problem[]) {
    super(problems.map(describeProblem).join('\n'));
    this.name = 'InputError';
    this.problems = problems;
  }
}

/** The one wording of a problem: `file:line:column: expected …; got …; do …`. */
export function describeProblem(p: Problem): string {
  const { file, line, column } = p.place;
  return `${file}:${line}:${column}: expected ${p.expected}; got ${p.got}; ${p.next} [${p.code}]`;
}
