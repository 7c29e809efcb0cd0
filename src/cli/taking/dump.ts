/** `take` of a register dump: the document, or a line a function with what is wrong. */
import { dumpOf, dumpOfFolder } from '../../engine/index.ts';
import { fileChunks, relativeName, STANDARD_INPUT, streamChunks } from '../../io/index.ts';
import type { DumpDocument } from '../../model/dump.ts';
import { dumpText } from '../../report/index.ts';
import { paintFor, print, printJson, widthOf } from '../console.ts';
import { STATUS_HOLDS } from '../status.ts';
import { Unusable } from '../unusable.ts';
import { dumpFiles, isFolder, unpacked } from './dump-files.ts';

export interface TakeDumpOptions {
  readonly json?: true;
}

/** The document of a dump: a file, a folder, or standard input for `-`. */
export async function readDump(name: string): Promise<DumpDocument> {
  if (name === '-')
    return dumpOf(whole(unpacked(streamChunks(process.stdin)), STANDARD_INPUT), STANDARD_INPUT);
  const shown = relativeName(name, process.cwd());
  if (await isFolder(name)) return dumpOfFolder(dumpFiles(name), shown);
  return dumpOf(whole(unpacked(fileChunks(name, shown)), shown), shown);
}

/** A packed file that is damaged becomes a problem like any other. */
async function* whole(chunks: AsyncIterable<Uint8Array>, file: string) {
  try {
    yield* chunks;
  } catch (error) {
    const code = (error as { readonly code?: unknown }).code;
    if (typeof code !== 'string' || !code.startsWith('Z_')) throw error;
    const place = { file, line: 1, column: 1 };
    const expected = 'a gzip file that is whole';
    const next = 'pack the dump again, or give it unpacked';
    throw new Unusable([{ code: 'truncated', place, expected, got: `error ${code}`, next }]);
  }
}

/** Prints a dump. Throws Unusable when it holds no function at all. */
export async function takeDump(name: string, options: TakeDumpOptions): Promise<void> {
  const document = await readDump(name);
  if (document.functions.length === 0) throw new Unusable(document.problems);
  process.exitCode = STATUS_HOLDS;
  if (options.json) printJson(document);
  else
    print(dumpText(document, { width: widthOf(process.stdout), paint: paintFor(process.stdout) }));
}
