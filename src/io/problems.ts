/** Problems of files themselves: absent, unreadable, too large, not text. */
import { InputError, type Problem } from '../model/problem.ts';

/** Codes of file problems; docs/errors.md explains each. */
export const fileProblemCodes = [
  'file-missing',
  'file-is-folder',
  'file-denied',
  'file-too-large',
  'file-unreadable',
  'file-unwritable',
  'not-utf8',
  'folder-missing',
  'folder-too-large',
  'would-overwrite',
] as const;
export type FileProblemCode = (typeof fileProblemCodes)[number];

/** What a file problem says beside its code and file. */
export interface FileComplaint {
  readonly expected: string;
  readonly got: string;
  readonly next: string;
  /** Place inside the file, counting from 1; 1 and 1 when absent. */
  readonly line?: number;
  readonly column?: number;
}

/** The error that reports one file problem. */
export function fileError(
  code: FileProblemCode,
  file: string,
  complaint: FileComplaint,
): InputError {
  const { expected, got, next, line = 1, column = 1 } = complaint;
  const problem: Problem = { code, place: { file, line, column }, expected, got, next };
  return new InputError([problem]);
}

/** The operating system's code of an error, `ENOENT` and the like. */
export function systemCode(error: unknown): string | undefined {
  if (!(error instanceof Error) || !('code' in error)) return undefined;
  return typeof error.code === 'string' ? error.code : undefined;
}
