/** From a case's name on the command line to its answer. */
import { dirname, join } from 'node:path';
import {
  type Answer,
  type AnswerOptions,
  answerCase,
  type Library,
  partsFolderOf,
  type Read,
  type RearMapFile,
  rearMapsOf,
} from '../engine/index.ts';
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

/** A case file, a sound library, and every text in them by shown name. */
export interface Inputs {
  readonly source: NamedText;
  readonly library: Library;
  readonly texts: ReadonlyMap<string, string>;
}

/** Reads the case file `name`, `-` for standard input, and the parts it may use. */
export async function readInputs(name: string, extraFolders: readonly string[]): Promise<Inputs> {
  const source = await patiently(`reading ${name}`, readCaseText(name));
  const shelf = await readLibraries(partFolders(name, source, extraFolders));
  const texts = new Map([...shelf.texts, [source.file, source.text]]);
  return { source, library: soundLibrary(shelf), texts };
}

/** The maps of rear I/O that a case lists, found beside it. */
export async function rearMapFiles(name: string, source: NamedText): Promise<RearMapFile[]> {
  const base = name === FROM_STANDARD_INPUT ? '.' : dirname(name);
  const read = rearMapsOf(source).map(async ({ file: listedAs }) => {
    const path = join(base, listedAs);
    return { ...(await readText(path, relativeName(path, process.cwd()))), listedAs };
  });
  return Promise.all(read);
}

/** What was read; Unusable with every problem otherwise. Warnings go to standard error. */
export async function usable<T>(read: Read<T>, { texts }: Inputs): Promise<T> {
  if (!read.ok) throw new Unusable(read.problems, texts);
  for (const warning of read.warnings) note(`warning: ${await describe(warning, texts)}`);
  return read.value;
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
  return answerInputs(name, await readInputs(name, extraFolders), options);
}

/** As `answerFile`, of a case that is read already. */
export async function answerInputs(
  name: string,
  inputs: Inputs,
  options: AnswerOptions,
): Promise<Answer> {
  const rearMaps = await rearMapFiles(name, inputs.source);
  const texts = new Map([...inputs.texts, ...rearMaps.map((m) => [m.file, m.text] as const)]);
  const answer = answerCase(inputs.source, inputs.library, { ...options, rearMaps });
  return usable(answer, { ...inputs, texts });
}
