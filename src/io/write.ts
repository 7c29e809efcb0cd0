/** Writes output files whole or not at all, and never over something of another kind. */
import { open, stat } from 'node:fs/promises';
import writeFileAtomic from 'write-file-atomic';
import { fileError, systemCode } from './problems.ts';

/** True when `path` exists, whatever it is. */
export async function exists(path: string): Promise<boolean> {
  return stat(path).then(
    () => true,
    () => false,
  );
}

/** The first `length` bytes of a file as text, or undefined when it cannot be read. */
async function beginning(path: string, length: number): Promise<string | undefined> {
  try {
    const handle = await open(path, 'r');
    try {
      const { bytesRead, buffer } = await handle.read(Buffer.alloc(length), 0, length, 0);
      return buffer.subarray(0, bytesRead).toString('utf8');
    } finally {
      await handle.close();
    }
  } catch {
    return undefined;
  }
}

/** When an existing file may be replaced: always, never, or when it begins with a given text. */
export type Replace = 'always' | 'never' | { readonly beginning: string };

async function mayReplace(path: string, replace: Replace): Promise<boolean> {
  if (replace === 'always' || !(await exists(path))) return true;
  if (replace === 'never') return false;
  const found = await beginning(path, Buffer.byteLength(replace.beginning));
  return found === '' || found?.toLowerCase() === replace.beginning.toLowerCase();
}

/** Throws InputError `would-overwrite` when `path` is there and `replace` forbids writing over it. */
export async function checkReplace(path: string, replace: Replace, file = path): Promise<void> {
  if (await mayReplace(path, replace)) return;
  throw fileError('would-overwrite', file, {
    expected: 'a name that is free',
    got: replace === 'never' ? 'a file that exists' : 'a file of another kind',
    next: replace === 'never' ? 'choose another name, or add --force' : 'choose another name',
  });
}

const systemWords: Readonly<Record<string, string>> = {
  ENOENT: 'no such folder',
  EACCES: 'permission denied',
  EPERM: 'permission denied',
  EROFS: 'a disk that is read-only',
  EISDIR: 'a folder',
  ENOSPC: 'a full disk',
};

/** A system's refusal to write as InputError `file-unwritable`; any other error as it is. */
export function unwritable(error: unknown, file: string): unknown {
  const code = systemCode(error);
  if (code === undefined) return error;
  return fileError('file-unwritable', file, {
    expected: 'a place to write to',
    got: systemWords[code] ?? `system error ${code}`,
    next: 'choose another place',
  });
}

/**
 * Writes `bytes` to a new file beside `path` and renames it into place. Throws InputError
 * `would-overwrite` when `replace` forbids it, `file-unwritable` when the system does.
 */
export async function writeBytes(
  path: string,
  bytes: Uint8Array,
  replace: Replace,
  file = path,
): Promise<void> {
  await checkReplace(path, replace, file);
  try {
    await writeFileAtomic(path, Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
  } catch (error) {
    throw unwritable(error, file);
  }
}

/** `writeBytes` of a text in UTF-8. */
export async function writeText(
  path: string,
  text: string,
  replace: Replace,
  file = path,
): Promise<void> {
  await writeBytes(path, Buffer.from(text, 'utf8'), replace, file);
}
