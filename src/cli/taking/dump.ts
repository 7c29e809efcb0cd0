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

/** Name of evidence in messages: `-` is standard input. */
export function shownName(name: string): string {
  return name === '-' ? STANDARD_INPUT : relativeName(name, process.cwd());
}

/** The bytes of a file of evidence, or of standard input for `-`, unpacked. */
export function evidenceBytes(name: string): AsyncGenerator<Uint8Array, void> {
  const shown = shownName(name);
  const chunks = name === '-' ? streamChunks(process.stdin) : fileChunks(name, shown);
  return whole(unpacked(chunks), shown);
}

/** The document of a dump: a file, a folder, or standard input for `-`. */
export async function readDump(
  name: string,
  bytes?: AsyncIterable<Uint8Array>,
): Promise<DumpDocument> {
  const shown = shownName(name);
  if (bytes === undefined && name !== '-' && (await isFolder(name))) {
    return dumpOfFolder(dumpFiles(name), shown);
  }
  return dumpOf(bytes ?? evidenceBytes(name), shown);
}

/** A packed file that is damaged becomes a problem like any other. */
async function* whole(
  chunks: AsyncIterable<Uint8Array>,
  file: string,
): AsyncGenerator<Uint8Array, void> {
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

/** Prints a dump; `bytes` are those of a file. Throws Unusable when it holds no function at all. */
export async function takeDump(
  name: string,
  options: TakeDumpOptions,
  bytes?: AsyncIterable<Uint8Array>,
): Promise<void> {
  const document = await readDump(name, bytes);
  if (document.functions.length === 0) throw new Unusable(document.problems);
  process.exitCode = STATUS_HOLDS;
  if (options.json) printJson(document);
  else
    print(dumpText(document, { width: widthOf(process.stdout), paint: paintFor(process.stdout) }));
}
