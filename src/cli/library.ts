/** The libraries a command sees, and the texts in them for pointing at problems. */
import { fileURLToPath } from 'node:url';
import { combineLibraries, type Library, libraryOf } from '../engine/index.ts';
import { type NamedText, readFolder, relativeName } from '../io/index.ts';
import type { Problem } from '../model/problem.ts';
import { patiently } from './console.ts';
import { Unusable } from './unusable.ts';

/** The parts delivered with the tool: beside `dist/`, two folders above this file. */
const ownParts = fileURLToPath(new URL('../../parts', import.meta.url));

/** A combined library, the problems of its files, and the texts by shown name. */
export interface Shelf {
  readonly library: Library;
  readonly problems: readonly Problem[];
  readonly texts: ReadonlyMap<string, string>;
}

/** True for a case file, which may lie in the folder of its parts. */
function isCase({ text }: NamedText): boolean {
  return /^lanewright:[ \t]*case\//m.test(text);
}

/**
 * Reads library folders, the first asked first, and the delivered parts last. `folders` are paths
 * relative to the working folder. Throws InputError when a folder cannot be read.
 */
export async function readLibraries(folders: readonly string[]): Promise<Shelf> {
  const read = [
    ...folders.map((path) => readFolder(path, relativeName(path, process.cwd()))),
    readFolder(ownParts, 'parts'),
  ];
  const all = await patiently('reading part files', Promise.all(read));
  const groups = all.map((files) => files.filter((f) => !isCase(f)));
  const shelves = groups.map((files) => libraryOf(files));
  return {
    library: combineLibraries(...shelves.map((s) => s.library)),
    problems: shelves.flatMap((s) => s.problems),
    texts: new Map(groups.flat().map((f) => [f.file, f.text])),
  };
}

/** The library, or Unusable when any of its files has a problem. */
export function soundLibrary(shelf: Shelf): Library {
  if (shelf.problems.length > 0) throw new Unusable(shelf.problems, shelf.texts);
  return shelf.library;
}
