/** A file written piece by piece that appears under its name whole or not at all. */
import { closeSync, fsyncSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { checkReplace, type Replace, unwritable } from './write.ts';

/** Characters kept before they are written: few calls of the system, little memory. */
const piece = 65_536;

/**
 * Text is appended to a file of another name beside `path`; `keep` renames it into place, `drop`
 * removes it. Appending is synchronous, for a producer that does not yield, and takes no more
 * memory the longer the file gets. A process that is killed leaves the other file, which ends in
 * `.part`.
 */
export class GrowingFile {
  private readonly path: string;
  private readonly shown: string;
  private readonly partial: string;
  private readonly handle: number;
  private waiting = '';
  private open = true;

  private constructor(path: string, shown: string) {
    this.path = path;
    this.shown = shown;
    this.partial = `${path}.${process.pid}.part`;
    this.handle = openSync(this.partial, 'w');
  }

  /**
   * Begins a file that will be called `path`, `shown` in messages.
   * @throws InputError `would-overwrite` or `file-unwritable`, as `writeText` does.
   */
  static async begin(path: string, replace: Replace, shown = path): Promise<GrowingFile> {
    await checkReplace(path, replace, shown);
    try {
      return new GrowingFile(path, shown);
    } catch (error) {
      throw unwritable(error, shown);
    }
  }

  /** Appends text. @throws InputError `file-unwritable`. */
  append(text: string): void {
    this.waiting += text;
    if (this.waiting.length >= piece) this.flush();
  }

  /** Puts the whole file in place. @throws InputError `file-unwritable`; it is dropped then. */
  keep(): void {
    try {
      this.flush();
      fsyncSync(this.handle);
      closeSync(this.handle);
      this.open = false;
      renameSync(this.partial, this.path);
    } catch (error) {
      this.drop();
      throw unwritable(error, this.shown);
    }
  }

  /** Removes what was written; nothing after `keep`. */
  drop(): void {
    if (this.open) closeSync(this.handle);
    this.open = false;
    rmSync(this.partial, { force: true });
  }

  private flush(): void {
    const bytes = Buffer.from(this.waiting, 'utf8');
    this.waiting = '';
    try {
      for (let at = 0; at < bytes.length; ) at += writeSync(this.handle, bytes, at);
    } catch (error) {
      throw unwritable(error, this.shown);
    }
  }
}
