import type { Problem } from '../../model/problem.ts';
import type { SourceFile } from '../text/parse.ts';
import type { Collector } from '../text/problems.ts';

/** What a reader gives back: the value, or every problem found. It never throws. */
export type Read<T> =
  | { readonly ok: true; readonly value: T; readonly warnings: readonly Problem[] }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** Part files by the id they give themselves. */
export interface Library {
  /** The part file with this id, or undefined. */
  find(id: string): SourceFile | undefined;
  /** All ids, in order. */
  ids(): readonly string[];
}

/** The outcome of a reading: the value only when no problem was reported. */
export function outcome<T>(
  value: T | undefined,
  out: Collector,
  files: readonly string[],
): Read<T> {
  if (value !== undefined && out.clean) return { ok: true, value, warnings: out.warnings(files) };
  const problems = out.problems(files);
  if (problems.length === 0) throw new Error('a value is missing, yet no problem was reported');
  return { ok: false, problems };
}
