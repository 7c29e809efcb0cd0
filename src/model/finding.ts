import type { Basis } from './basis.ts';

/** `ok` and `caution` pass; `stop` fails; `unknown` means a value is missing, never a silent pass. */
export const levels = ['ok', 'caution', 'unknown', 'stop'] as const;
export type Level = (typeof levels)[number];

/** The worse of two levels, in the order ok < caution < unknown < stop. */
export function worse(a: Level, b: Level): Level {
  return levels.indexOf(a) >= levels.indexOf(b) ? a : b;
}

/** A number behind a finding, already worded for people, with where it comes from. */
export interface FindingValue {
  readonly name: string;
  readonly text: string;
  readonly basis: Basis;
  readonly reference?: string;
}

/** One checked rule: level, the numbers, the clause and the next step. */
export interface Finding {
  /** Rule identifier, and after a `/` the thing checked when a rule speaks of several. */
  readonly id: string;
  readonly level: Level;
  /** What was checked, in the reader's words: `3.3 V rail of site A`. */
  readonly subject: string;
  readonly message: string;
  readonly values: readonly FindingValue[];
  readonly clause: string;
  readonly basis: Basis;
  /** What to do next; for `ok` what the result rests on, or empty. */
  readonly next: string;
}
