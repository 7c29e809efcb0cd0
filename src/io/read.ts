/** Reads input texts: files and standard input, within limits, as UTF-8. */
import { open, readdir } from 'node:fs/promises';
import { dirname } from 'node:path';
import type { Readable } from 'node:stream';
import { fileError, systemCode } from './problems.ts';
import { firstBadByte } from './utf8.ts';

/** Largest input text, bytes. Cases and parts are a few kilobytes; this keeps a mistake small. */
export const TEXT_BYTES_MAX = 4 * 1024 * 1024;

const chunkBytes = 64 * 1024;

/** A text and the name that problems and the answer show for it. */
export interface NamedText {
  readonly file: string;
  readonly text: string;
}

function tooLarge(file: string) {
  return fileError('file-too-large', file, {
    expected: `at most ${TEXT_BYTES_MAX / 1024 / 1024} MiB of text`,
    got: 'more than that',
    next: 'check that this is the file you mean',
  });
}

/** Bytes as text; a byte order mark is dropped. Throws InputError `not-utf8` with line and offset. */
export function decodeText(bytes: Uint8Array, file: string): string {
  const bad = firstBadByte(bytes);
  if (bad === undefined) return new TextDecoder('utf-8').decode(bytes);
  const hex = bad.byte.toString(16).padStart(2, '0');
  throw fileError('not-utf8', file, {
    expected: 'text in UTF-8',
    got: `byte 0x${hex} at byte offset ${bad.offset}`,
    next: 'save the file as UTF-8 in your editor',
    line: bad.line,
    column: bad.column,
  });
}

/** What the folder of a missing file holds, to spare a look. */
async function neighbours(path: string, endings: readonly string[]): Promise<string> {
  try {
    const all = await readdir(dirname(path));
    const names = all.filter((n) => endings.some((ending) => n.endsWith(ending))).sort();
    if (names.length === 0) {
      return `check the name; its folder holds no ${endings.join(' or ')} file`;
    }
    const more = names.length > 4 ? `, and ${names.length - 4} more` : '';
    return `check the name; its folder holds ${names.slice(0, 4).join(', ')}${more}`;
  } catch {
    return 'check the name; its folder is not there either';
  }
}

/**
 * The InputError for a failed system call on `path`; foreign errors are passed on as they are.
 * `endings` are those of the files that could be meant.
 */
export async function readError(
  error: unknown,
  path: string,
  file: string,
  endings: readonly string[] = ['.yaml'],
): Promise<unknown> {
  const code = systemCode(error);
  if (code === undefined) return error;
  const expected = 'a file that can be read';
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return fileError('file-missing', file, {
        expected,
        got: 'no such file',
        next: await neighbours(path, endings),
      });
    case 'EISDIR':
      return fileError('file-is-folder', file, {
        expected,
        got: 'a folder',
        next: 'name a file in it',
      });
    case 'EACCES':
    case 'EPERM':
      return fileError('file-denied', file, {
        expected,
        got: 'permission denied',
        next: 'ask its owner for read permission',
      });
    default:
      return fileError('file-unreadable', file, {
        expected,
        got: `system error ${code}`,
        next: 'check the disk or name another file',
      });
  }
}

/**
 * Reads a text file. `file` is the name to show; it defaults to `path`.
 * Throws InputError when the file is missing, a folder, denied, larger than `TEXT_BYTES_MAX` or not
 * UTF-8. Pipes are read as files are.
 */
export async function readText(path: string, file = path): Promise<NamedText> {
  const chunks: Uint8Array[] = [];
  try {
    const handle = await open(path, 'r');
    try {
      let total = 0;
      for (;;) {
        const { bytesRead, buffer } = await handle.read(Buffer.alloc(chunkBytes), 0, chunkBytes);
        if (bytesRead === 0) break;
        total += bytesRead;
        if (total > TEXT_BYTES_MAX) throw tooLarge(file);
        chunks.push(buffer.subarray(0, bytesRead));
      }
    } finally {
      await handle.close();
    }
  } catch (error) {
    throw await readError(error, path, file);
  }
  return { file, text: decodeText(Buffer.concat(chunks), file) };
}

/** Name shown for text that came from standard input. */
export const STANDARD_INPUT = 'standard input';

/** Reads a stream to its end under the same limits as a file. */
export async function readStream(stream: Readable, file = STANDARD_INPUT): Promise<NamedText> {
  const chunks: Uint8Array[] = [];
  let total = 0;
  try {
    for await (const chunk of stream) {
      const bytes = Buffer.from(chunk);
      total += bytes.length;
      if (total > TEXT_BYTES_MAX) throw tooLarge(file);
      chunks.push(bytes);
    }
  } catch (error) {
    throw await readError(error, '.', file);
  }
  return { file, text: decodeText(Buffer.concat(chunks), file) };
}
