/** Exit status. */
import type { Answer } from '../model/answer.ts';
import { type Level, worse } from '../model/finding.ts';

/** Every checked thing is `ok` or `caution`. */
export const STATUS_HOLDS = 0;
/** Something is `stop`, or `unknown` and not allowed to be. */
export const STATUS_FAILS = 1;
/** The input or the command line cannot be used. */
export const STATUS_UNUSABLE = 2;

/** The status an answer ends with. */
export function statusOf(answer: Answer, allowUnknown: boolean): number {
  return statusOfLevel(
    worse(answer.verdict.fits ?? 'ok', answer.verdict.keepsUp ?? 'ok'),
    allowUnknown,
  );
}

/** The status that a level ends with. */
export function statusOfLevel(level: Level, allowUnknown: boolean): number {
  if (level === 'stop') return STATUS_FAILS;
  return level === 'unknown' && !allowUnknown ? STATUS_FAILS : STATUS_HOLDS;
}
