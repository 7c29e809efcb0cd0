/** Reads a library folder: every `*.yaml` in it and below it. */
import { readdir, realpath, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { fileError, systemCode } from './problems.ts';
import { type NamedText, readText } from './read.ts';

/** Most files of one library, and deepest folder below it: beyond, it is not a library. */
export const FOLDER_FILES_MAX = 5000;
export const FOLDER_DEPTH_MAX = 12;

function tooLarge(name: string, got: string) {
  return fileError('folder-too-large', name, {
    expected: `a library of at most ${FOLDER_FILES_MAX} files, ${FOLDER_DEPTH_MAX} folders deep`,
    got,
    next: 'name the folder that holds the parts',
  });
}

/** Lists `*.yaml` below `path`, names starting with a full stop apart; each real folder once. */
async function list(path: string, name: string): Promise<{ path: string; file: string }[]> {
  const found: { path: string; file: string }[] = [];
  const seen = new Set<string>();
  const visit = async (folder: string, shown: string, depth: number): Promise<void> => {
    const real = await realpath(folder);
    if (seen.has(real)) return;
    seen.add(real);
    if (depth > FOLDER_DEPTH_MAX) throw tooLarge(name, `deeper folders, such as ${shown}`);
    const entries = await readdir(folder, { withFileTypes: true });
    entries.sort((a, b) => (a.name < b.name ? -1 : 1));
    for (const entry of entries) {
      if (entry.name.startsWith('.') || entry.name === 'node_modules') continue;
      const at = join(folder, entry.name);
      const file = `${shown}/${entry.name}`;
      const isFolder = entry.isSymbolicLink()
        ? await stat(at).then(
            (s) => s.isDirectory(),
            () => false,
          )
        : entry.isDirectory();
      if (isFolder) await visit(at, file, depth + 1);
      else if (entry.name.endsWith('.yaml')) found.push({ path: at, file });
      if (found.length > FOLDER_FILES_MAX) throw tooLarge(name, 'more files');
    }
  };
  await visit(path, name, 0);
  return found;
}

/**
 * The texts of a library folder in name order, each shown as `name/…`. Throws InputError when the
 * folder is missing or beyond the limits, or a file in it cannot be read.
 */
export async function readFolder(path: string, name: string): Promise<NamedText[]> {
  const shown = name.replace(/\/+$/, '') || '.';
  let files: { path: string; file: string }[];
  try {
    files = await list(path, shown);
  } catch (error) {
    const code = systemCode(error);
    if (code === undefined) throw error;
    throw fileError('folder-missing', shown, {
      expected: 'a folder of part files',
      got: code === 'ENOENT' ? 'no such folder' : code === 'ENOTDIR' ? 'a file' : `error ${code}`,
      next: 'check the name of the folder',
    });
  }
  return Promise.all(files.map((f) => readText(f.path, f.file)));
}
