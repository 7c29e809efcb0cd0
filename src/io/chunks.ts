/** Files of evidence piece by piece: they may be larger than memory, and are never held whole. */
import { open } from 'node:fs/promises';
import type { Readable } from 'node:stream';
import { readError } from './read.ts';

const chunkBytes = 64 * 1024;

/** Endings of the files that hold evidence as a rule, for the hint when one is missing. */
const endings = ['.csv', '.tsv', '.json', '.jsonl', '.pcap', '.pcapng'];

/**
 * The bytes of a file in pieces, read as they are asked for; `file` is the name to show. The first
 * asking throws InputError when the file is missing, a folder, denied or unreadable; a later one when
 * the disk fails. Pipes are read as files are. Leaving early closes the file.
 */
export async function* fileChunks(path: string, file = path): AsyncGenerator<Uint8Array, void> {
  try {
    const handle = await open(path, 'r');
    try {
      for (;;) {
        const { bytesRead, buffer } = await handle.read(Buffer.alloc(chunkBytes), 0, chunkBytes);
        if (bytesRead === 0) return;
        yield buffer.subarray(0, bytesRead);
      }
    } finally {
      await handle.close();
    }
  } catch (error) {
    throw await readError(error, path, file, endings);
  }
}

/** The bytes of a stream, such as standard input, in the pieces in which they come. */
export async function* streamChunks(stream: Readable): AsyncGenerator<Uint8Array, void> {
  for await (const chunk of stream) yield Buffer.from(chunk);
}
