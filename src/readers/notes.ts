/** Collects problems and findings within bounds: a bad file of any length says a bounded amount. */
import type { Finding } from '../model/finding.ts';
import type { Problem } from '../model/problem.ts';
import type { ReaderNotes } from './types.ts';
import type { VcdProblemCode } from './vcd/problems.ts';

/** Every code that an evidence reader may report; docs/evidence.md explains each. */
export const readerProblemCodes = [
  'bad-block',
  'bad-json',
  'bad-mapping',
  'bad-number',
  'bad-quotes',
  'bad-setting',
  'bad-unit',
  'cell-count',
  'decimal-comma',
  'empty-cell',
  'empty-evidence',
  'line-too-long',
  'no-column',
  'no-header',
  'not-capture',
  'not-text',
  'not-utf8',
  'out-of-range',
  'too-many-rows',
  'truncated',
  'two-columns',
  'unknown-column',
] as const;
export type ReaderProblemCode = (typeof readerProblemCodes)[number];

/** Every id that a finding of an evidence reader may begin with; docs/evidence.md explains each. */
export const readerFindingIds = [
  'evidence-ambiguous',
  'evidence-capture',
  'evidence-cell-unit',
  'evidence-columns',
  'evidence-cut',
  'evidence-direction',
  'evidence-order',
  'evidence-rounded',
] as const;

/** Most problems and findings kept; more are counted. */
export const NOTES_MAX = 200;

/** A place within the file, from 1. */
export interface At {
  readonly line: number;
  readonly column: number;
}

/** What was expected, what came, and what to do next. */
export interface Complaint {
  readonly expected: string;
  readonly got: string;
  readonly next: string;
}

/** Problems and findings of one file. */
export class Notes {
  readonly file: string;
  readonly #problems: Problem[] = [];
  #left = 0;
  readonly #findings = new Map<string, Finding>();

  constructor(file: string) {
    this.file = file;
  }

  /** Adds a problem, or counts it once there are many. */
  problem(
    code: ReaderProblemCode | VcdProblemCode,
    at: At,
    { expected, got, next }: Complaint,
  ): void {
    if (this.#problems.length >= NOTES_MAX) {
      this.#left += 1;
      return;
    }
    const place = { file: this.file, line: at.line, column: at.column };
    this.#problems.push({
      code,
      place,
      expected: visible(expected),
      got: visible(got),
      next: visible(next),
    });
  }

  /** Adds a finding of common practice; of findings on one subject with one id the last stays. */
  finding(
    finding: Pick<Finding, 'id' | 'level' | 'subject' | 'message' | 'next'> & Partial<Finding>,
  ): void {
    const key = JSON.stringify([finding.id, finding.subject]);
    if (!this.#findings.has(key) && this.#findings.size >= NOTES_MAX) return;
    this.#findings.set(key, {
      values: [],
      clause: 'common practice, no source',
      basis: 'practice',
      ...finding,
      subject: visible(finding.subject),
      message: visible(finding.message),
      next: visible(finding.next),
    });
  }

  /** True while nothing was wrong. */
  get clean(): boolean {
    return this.#problems.length === 0;
  }

  /** All notes, findings in the order of first mention. */
  result(): ReaderNotes {
    return {
      findings: [...this.#findings.values()],
      problems: this.#problems,
      problemsLeftOut: this.#left,
    };
  }
}

/** Characters that move a cursor or turn text around, as escapes: files come from anywhere. */
export function visible(text: string): string {
  return text.replace(
    /[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu,
    (c) => `\\u{${c.codePointAt(0)!.toString(16)}}`,
  );
}

/** A piece of a file in quotes, cut to a readable length. */
export function quoted(text: string): string {
  if (text === '') return 'nothing';
  return text.length > 60 ? `'${text.slice(0, 60)}…'` : `'${text}'`;
}
