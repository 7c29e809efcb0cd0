/** From the bytes of a register dump to its document. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { decodeFunction } from '../insight/registers/index.ts';
import type { DumpDocument } from '../model/dump.ts';
import {
  type ConfigDump,
  type DumpFile,
  readConfigFolder,
  readConfigSpaces,
} from '../readers/dump/index.ts';
import type { ByteChunks } from '../readers/types.ts';
import { version } from './version.ts';

type Input = DumpDocument['inputs'][number];

/** Passes chunks on and hashes them on the way. */
async function* hashed(chunks: ByteChunks, file: string, inputs: Input[]) {
  const hash = sha256.create();
  for await (const chunk of chunks) {
    hash.update(chunk);
    yield chunk;
  }
  inputs.push({ file, sha256: bytesToHex(hash.digest()) });
}

/**
 * Reads and decodes one file: a listing, an image or a tar archive. Never throws for what is in the
 * bytes; a dump without any function has a problem.
 */
export async function dumpOf(chunks: ByteChunks, file: string): Promise<DumpDocument> {
  const inputs: Input[] = [];
  const dump = await readConfigSpaces(hashed(chunks, file, inputs), { file });
  return documentOf(dump, file, inputs);
}

/** The same of a folder; its files are named below it. Only files with functions are inputs. */
export async function dumpOfFolder(
  files: AsyncIterable<DumpFile> | Iterable<DumpFile>,
  folder: string,
): Promise<DumpDocument> {
  const inputs: Input[] = [];
  async function* each() {
    for await (const { name, chunks } of files) {
      yield { name, chunks: hashed(chunks, name, inputs) };
    }
  }
  const dump = await readConfigFolder(each(), { file: folder });
  const used = new Set(dump.functions.map(({ place }) => place.file));
  return documentOf(
    dump,
    folder,
    inputs.filter((input) => used.has(input.file)),
  );
}

/** The document of a dump that is read already. */
export function documentOf(dump: ConfigDump, file: string, inputs: readonly Input[]): DumpDocument {
  return {
    schema: 'lanewright.dump/1',
    tool: { name: 'lanewright', version },
    dump: { file, format: dump.format },
    inputs,
    functions: dump.functions.map(decodeFunction),
    findings: dump.findings,
    problems: dump.problems,
  };
}
