/** Reports inputs that cannot be used, as text with the place pointed at, or as a document. */
import type { Problem } from '../model/problem.ts';
import { note, paintFor, printJson, widthOf } from './console.ts';
import { STATUS_UNUSABLE } from './status.ts';

/** Thrown when inputs cannot be used: every problem, and the texts they were found in. */
export class Unusable extends Error {
  readonly problems: readonly Problem[];
  readonly texts: ReadonlyMap<string, string>;

  constructor(problems: readonly Problem[], texts: ReadonlyMap<string, string> = new Map()) {
    super(`${problems.length} problems`);
    this.name = 'Unusable';
    this.problems = problems;
    this.texts = texts;
  }
}

/** One problem as text with its source line, when the text it is in is at hand. */
export async function describe(
  problem: Problem,
  texts: ReadonlyMap<string, string>,
): Promise<string> {
  const { problemText } = await import('../report/index.ts');
  const line = texts.get(problem.place.file)?.split(/\r\n|\r|\n/)[problem.place.line - 1];
  const look = { width: widthOf(process.stderr), paint: paintFor(process.stderr) };
  return problemText(problem, line, look).trimEnd();
}

/** Prints problems and sets the exit status. With `json` the document goes to standard output. */
export async function reportUnusable(error: Unusable, json: boolean): Promise<void> {
  process.exitCode = STATUS_UNUSABLE;
  const { problems, texts } = error;
  if (json) {
    printJson({ schema: 'lanewright.problems/1', problems });
    return;
  }
  for (const problem of problems) note(await describe(problem, texts));
  const count = problems.length === 1 ? '1 problem' : `${problems.length} problems`;
  note(`${count}; nothing was done`);
}
