/** One file of a dump: finds out what it is, and hands its bytes to the right reader. */

import { addressOfName, addressText } from './address.ts';
import type { DumpCollector } from './collector.ts';
import { ListingReader } from './listing.ts';
import { isTar, type MemberReader, TarReader } from './tar.ts';
import type { FunctionAddress } from './types.ts';
import { type DumpFormat, SPACE_BYTES_MAX, spaceSizes } from './types.ts';

/** What a file name says: the function it is of, and whether it lies among that function's files. */
export interface NameFacts {
  readonly address?: FunctionAddress;
  /** `config` in a folder named after a function: the one file there that counts. */
  readonly config: boolean;
  /** Another file of such a folder. */
  readonly side: boolean;
}

/** Facts of a path such as `devices/0000:00:1c.0/config`. */
export function nameFacts(path: string): NameFacts {
  const steps = path.split(/[/\\]/).filter((s) => s !== '' && s !== '.');
  const last = steps.at(-1) ?? '';
  const own = addressOfName(last);
  if (own !== undefined) return { address: own, config: false, side: false };
  const folder = addressOfName(steps.at(-2) ?? '');
  if (folder === undefined) return { config: last === 'config', side: false };
  return { address: folder, config: last === 'config', side: last !== 'config' };
}

/** Reads one file piece by piece. */
export class DumpFileReader implements MemberReader {
  readonly #out: DumpCollector;
  readonly #file: string;
  readonly #facts: NameFacts;
  /** Files within an archive or folder may be none of ours; a file named by itself must be. */
  readonly #within: boolean;
  #head: Uint8Array = new Uint8Array(0);
  #total = 0;
  #reader: MemberReader | undefined;
  #listing: ListingReader | undefined;
  format: DumpFormat = 'unknown';

  constructor(out: DumpCollector, file: string, within: boolean) {
    this.#out = out;
    this.#file = file;
    this.#within = within;
    this.#facts = nameFacts(file);
  }

  push(chunk: Uint8Array): void {
    this.#total += chunk.length;
    if (this.#reader !== undefined) {
      this.#reader.push(chunk);
      return;
    }
    if (this.#head.length === 0 && chunk.length > SPACE_BYTES_MAX) {
      // As large a chunk is looked at where it is, and copied only as far as it must be kept.
      this.#head = chunk;
      this.#choose();
      if (this.#reader === undefined) this.#head = chunk.slice(0, SPACE_BYTES_MAX + 1);
      return;
    }
    if (this.#head.length <= SPACE_BYTES_MAX) {
      const whole = new Uint8Array(this.#head.length + chunk.length);
      whole.set(this.#head);
      whole.set(chunk, this.#head.length);
      this.#head = whole;
    }
    if (this.#head.length > SPACE_BYTES_MAX) this.#choose();
  }

  end(): void {
    if (this.#reader === undefined) this.#choose();
    if (this.#reader === undefined) this.#image();
    else this.#reader.end();
    if (this.#listing !== undefined && this.#listing.rows === 0) {
      this.format = 'unknown';
      if (this.#within) this.#out.filesIgnored += 1;
    }
  }

  /** Text and archives get a reader; an image is whatever is left, once all of it is known. */
  #choose(): void {
    const head = this.#head;
    if (head.length === 0) return;
    if (!this.#facts.config && isText(head.subarray(0, SPACE_BYTES_MAX))) {
      this.format = 'listing';
      this.#listing = new ListingReader(this.#out, this.#file, this.#facts.address);
      this.#reader = this.#listing;
    } else if (isTar(head) && !this.#within) {
      this.format = 'archive';
      this.#reader = new TarReader(this.#out, this.#file, (name) => openMember(this.#out, name));
    } else {
      return;
    }
    this.#reader.push(head);
    this.#head = new Uint8Array(0);
  }

  #image(): void {
    const size = this.#total;
    const { address } = this.#facts;
    const what = address === undefined ? this.#file : addressText(address);
    if (size === 0) {
      this.#out.say('dump-file', this.#file, 'is empty', 'dump it again', 'unknown');
      return;
    }
    const known = this.#facts.config || address !== undefined || spaceSizes.includes(size);
    if (this.#within && !known) {
      this.#out.filesIgnored += 1;
      return;
    }
    if (size > SPACE_BYTES_MAX || (!known && size < 64)) {
      this.#notAnImage(size);
      return;
    }
    this.format = 'image';
    const place = { file: this.#file, line: 1, column: 1 };
    const bytes = this.#head.slice();
    this.#out.add({ ...(address !== undefined && { address }), bytes, gaps: [], place }, what);
    if (address === undefined) {
      this.#out.say(
        'dump-unnamed',
        this.#file,
        'an image does not say which function it is of',
        'name the file domain:bus:device.function to say it',
      );
    }
  }

  #notAnImage(size: number): void {
    const packed = this.#head[0] === 0x1f && this.#head[1] === 0x8b;
    const next = packed
      ? 'unpack it: it is compressed'
      : 'give a listing, an image of one function, or a folder or tar archive of them';
    const several =
      size % SPACE_BYTES_MAX === 0
        ? `; ${size / SPACE_BYTES_MAX} images in which order is open`
        : '';
    this.#out.say(
      'dump-image-size',
      this.#file,
      `${size} bytes are no configuration space (64, 256 or 4096)${several}`,
      next,
      'unknown',
    );
  }
}

/** A file of a folder or archive; undefined, and counted, when its name says that it is none of ours. */
export function openMember(out: DumpCollector, name: string): DumpFileReader | undefined {
  if (!nameFacts(name).side) return new DumpFileReader(out, name, true);
  out.filesIgnored += 1;
  return undefined;
}

/** True for bytes that can be text: no control characters but blanks, nothing outside UTF-8's range. */
function isText(bytes: Uint8Array): boolean {
  for (const byte of bytes) {
    if (byte < 0x09 || (byte > 0x0d && byte < 0x20) || byte === 0x7f || byte > 0xf4) return false;
  }
  return true;
}
