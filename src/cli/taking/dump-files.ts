/** Files of a dump: those of a folder as an operating system exposes it, and packed ones unpacked. */
import { readdir, realpath, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { fileChunks } from '../../io/index.ts';
import { addressOfName, type DumpFile } from '../../readers/dump/index.ts';

/** Deepest folder looked into: a bus below a bus below … takes one level each. */
const DEPTH_MAX = 40;
/** Most files read: a machine has hundreds of functions. */
const FILES_MAX = 70_000;

/** True when `path` is a folder; false for what is not there, which reading it will report. */
export async function isFolder(path: string): Promise<boolean> {
  return stat(path).then(
    (s) => s.isDirectory(),
    () => false,
  );
}

/**
 * Files of `folder` in the order of their names. In a folder that is named after a function only
 * `config` is opened: its other files may act when they are read. Symbolic links are followed to
 * functions alone, and each folder is entered once.
 */
export async function* dumpFiles(folder: string): AsyncGenerator<DumpFile> {
  const seen = new Set<string>();
  let files = 0;
  async function* walk(
    path: string,
    shown: string,
    own: boolean,
    depth: number,
  ): AsyncGenerator<DumpFile> {
    const real = await realpath(path);
    if (seen.has(real) || depth > DEPTH_MAX || files > FILES_MAX) return;
    seen.add(real);
    const entries = await readdir(path, { withFileTypes: true });
    entries.sort((a, b) => (a.name < b.name ? -1 : 1));
    for (const entry of entries) {
      const at = join(path, entry.name);
      const name = shown === '' ? entry.name : `${shown}/${entry.name}`;
      const isFunction = addressOfName(entry.name) !== undefined;
      const enter =
        entry.isDirectory() || (entry.isSymbolicLink() && isFunction && (await isFolder(at)));
      if (enter) {
        if (!own || isFunction) yield* walk(at, name, isFunction, depth + 1);
      } else if (entry.isFile() && (!own || entry.name === 'config')) {
        files += 1;
        yield { name, chunks: unpacked(fileChunks(at, name)) };
      }
    }
  }
  const last =
    folder
      .split(/[/\\]/)
      .filter((s) => s !== '')
      .at(-1) ?? '';
  const own = addressOfName(last) !== undefined;
  yield* walk(folder, own ? last : '', own, 0);
}

/** Bytes as they are, or unpacked when they begin as a gzip file does (RFC 1952, section 2.3.1). */
export async function* unpacked(chunks: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  const iterator = chunks[Symbol.asyncIterator]();
  let head: Uint8Array = new Uint8Array(0);
  while (head.length < 2) {
    const { done, value } = await iterator.next();
    if (done === true) break;
    head = Buffer.concat([head, value]);
  }
  async function* whole() {
    if (head.length > 0) yield head;
    for (;;) {
      const { done, value } = await iterator.next();
      if (done === true) return;
      yield value;
    }
  }
  if (head[0] !== 0x1f || head[1] !== 0x8b) {
    yield* whole();
    return;
  }
  const source = Readable.from(whole());
  const packed = source.pipe(createGunzip());
  source.on('error', (error) => packed.destroy(error));
  yield* packed as AsyncIterable<Uint8Array>;
}
