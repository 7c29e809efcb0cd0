/** Register dumps to configuration spaces. The public names, one by one. */
import type { ByteChunks } from '../types.ts';
import { DumpCollector } from './collector.ts';
import { DumpFileReader, openMember } from './file.ts';
import type { ConfigDump } from './types.ts';

export { addressAt, addressOfName, addressText, type NoAddress } from './address.ts';
export { type DumpFindingId, dumpFindingIds } from './collector.ts';
export {
  type ByteRange,
  type ConfigDump,
  type ConfigSpace,
  type DumpFormat,
  FUNCTIONS_MAX,
  type FunctionAddress,
  SPACE_BYTES_MAX,
  spaceSizes,
} from './types.ts';

/** Names of a dump, as its notes show them. */
export interface DumpOptions {
  readonly file: string;
}

/** One file of a folder: its path below the folder, with `/`, and its bytes. */
export interface DumpFile {
  readonly name: string;
  readonly chunks: ByteChunks;
}

/**
 * Reads one file: a listing in hexadecimal, an image of 64, 256 or 4096 bytes, or a tar archive of
 * either. Never throws for what is in the bytes: what is wrong is in the notes, and a dump without
 * any function has the problem `empty-evidence`.
 */
export async function readConfigSpaces(
  chunks: ByteChunks,
  { file }: DumpOptions,
): Promise<ConfigDump> {
  const out = new DumpCollector(file);
  const reader = new DumpFileReader(out, file, false);
  for await (const chunk of chunks) reader.push(chunk);
  reader.end();
  return out.result(reader.format);
}

/**
 * Reads the files of a folder, in the order given: `config` files in folders named after functions,
 * images and listings. Other files are counted and otherwise left alone.
 */
export async function readConfigFolder(
  files: AsyncIterable<DumpFile> | Iterable<DumpFile>,
  { file }: DumpOptions,
): Promise<ConfigDump> {
  const out = new DumpCollector(file);
  for await (const { name, chunks } of files) {
    const reader = openMember(out, name);
    if (reader === undefined) continue;
    for await (const chunk of chunks) reader.push(chunk);
    reader.end();
  }
  return out.result('folder');
}
