/** From a case's name on the command line to its answer. */
import { dirname, join } from 'node:path';
import { type Answer, type AnswerOptions, answerCase, partsFolderOf } from '../engine/index.ts';
import { type NamedText, readStream, readText, relativeName } from '../io/index.ts';
import { note, patiently } from './console.ts';
import { readLibraries, soundLibrary } from './library.ts';
import { describe, Unusable } from './unusable.ts';

/** The name that stands for standard input. */
export const FROM_STANDARD_INPUT = '-';

function readCaseText(name: string): Promise<NamedText> {
  if (name === FROM_STANDARD_INPUT) return readStream(process.stdin);
  return readText(name, relativeName(name, process.cwd()));
}

/** Where parts are looked for: the case's own folder, then those of the command line. */
function partFolders(name: string, source: NamedText, extra: readonly string[]): string[] {
  const own = partsFolderOf(source);
  const base = name === FROM_STANDARD_INPUT ? '.' : dirname(name);
  return own === undefined ? [...extra] : [join(base, own), ...extra];
}

/**
 * Answers the case file `name`, `-` for standard input. Warnings go to standard error. Throws
 * Unusable with every problem of the case and the parts it names, InputError for files.
 */
export async function answerFile(
  name: string,
  extraFolders: readonly string[],
  options: AnswerOptions,
): Promise<Answer> {
  const source = await patiently(`reading ${name}`, readCaseText(name));
  const shelf = await readLibraries(partFolders(name, source, extraFolders));
  const texts = new Map([...shelf.texts, [source.file, source.text]]);
  const read = answerCase(source, soundLibrary(shelf), options);
  if (!read.ok) throw new Unusable(read.problems, texts);
  for (const warning of read.warnings) note(`warning: ${await describe(warning, texts)}`);
  return read.value;
}
