/**
 * Archives of the tar family: ustar with the long names of pax and of GNU (POSIX.1-1988 and -2001
 * header layout; GNU type L; from memory, checked in tests against archives that `tar` wrote).
 */
import { ByteQueue } from '../byte-queue.ts';
import type { DumpCollector } from './collector.ts';

const BLOCK = 512;
/** Longest extended header taken, bytes: it holds a name. */
const EXTENDED_MAX = 64 * 1024;

/** Where the bytes of a member go. */
export interface MemberReader {
  push(chunk: Uint8Array): void;
  end(): void;
}

/** Opens a member; undefined leaves it out. */
export type OpenMember = (name: string, size: number) => MemberReader | undefined;

/** True when `head`, at least 512 bytes, begins an archive. */
export function isTar(head: Uint8Array): boolean {
  if (head.length < BLOCK) return false;
  const magic = ascii(head, 257, 5);
  return magic === 'ustar' && checksum(head) === octal(head, 148, 8);
}

/** Reads an archive piece by piece. */
export class TarReader {
  readonly #queue = new ByteQueue();
  readonly #open: OpenMember;
  readonly #out: DumpCollector;
  readonly #file: string;
  #offset = 0;
  /** Bytes of the member that are still to come, and of its padding. */
  #left = 0;
  #padding = 0;
  #member: MemberReader | undefined;
  /** Name for the next member, from an extended header. */
  #longName: string | undefined;
  #extended: { kind: string; bytes: Uint8Array; at: number } | undefined;
  #done = false;

  constructor(out: DumpCollector, file: string, open: OpenMember) {
    this.#out = out;
    this.#file = file;
    this.#open = open;
  }

  push(chunk: Uint8Array): void {
    if (this.#done) return;
    this.#queue.push(chunk);
    while (!this.#done && this.#step());
    this.#queue.own();
  }

  end(): void {
    if (this.#done) return;
    if (this.#left > 0 || this.#queue.length > 0) {
      this.#member?.end();
      this.#say(`ends within a member, at byte offset ${this.#offset + this.#queue.length}`);
    }
  }

  #step(): boolean {
    if (this.#left > 0) {
      const count = Math.min(this.#left, this.#queue.length);
      if (count === 0) return false;
      this.#body(this.#queue.bytes(0, count));
      this.#drop(count);
      this.#left -= count;
      if (this.#left === 0) this.#close();
      return true;
    }
    if (this.#padding > 0) {
      const count = Math.min(this.#padding, this.#queue.length);
      if (count === 0) return false;
      this.#drop(count);
      this.#padding -= count;
      return true;
    }
    if (this.#queue.length < BLOCK) return false;
    this.#header(this.#queue.bytes(0, BLOCK));
    this.#drop(BLOCK);
    return true;
  }

  #drop(count: number): void {
    this.#queue.drop(count);
    this.#offset += count;
  }

  #header(head: Uint8Array): void {
    if (head.every((byte) => byte === 0)) {
      this.#done = true;
      return;
    }
    const size = octal(head, 124, 12);
    if (checksum(head) !== octal(head, 148, 8) || !Number.isSafeInteger(size) || size < 0) {
      this.#say(`has no sound member header at byte offset ${this.#offset}`);
      this.#done = true;
      return;
    }
    const kind = String.fromCharCode(head[156]! === 0 ? 0x30 : head[156]!);
    this.#left = size;
    this.#padding = (BLOCK - (size % BLOCK)) % BLOCK;
    if ((kind === 'x' || kind === 'L') && size <= EXTENDED_MAX) {
      this.#extended = { kind, bytes: new Uint8Array(size), at: 0 };
    } else if (kind === '0' || kind === '7') {
      const prefix = ascii(head, 257, 6) === 'ustar' ? ascii(head, 345, 155) : '';
      const short = ascii(head, 0, 100);
      const name = this.#longName ?? (prefix === '' ? short : `${prefix}/${short}`);
      this.#longName = undefined;
      this.#member = this.#open(name, size);
    } else {
      this.#member = undefined;
      if (kind !== 'g') this.#longName = undefined;
    }
    if (size === 0) this.#close();
  }

  #body(bytes: Uint8Array): void {
    if (this.#extended !== undefined) {
      this.#extended.bytes.set(bytes, this.#extended.at);
      this.#extended.at += bytes.length;
    } else {
      this.#member?.push(bytes);
    }
  }

  #close(): void {
    if (this.#extended !== undefined) {
      const { kind, bytes } = this.#extended;
      const name = kind === 'L' ? ascii(bytes, 0, bytes.length) : paxPath(bytes);
      if (name !== undefined) this.#longName = name;
      this.#extended = undefined;
      return;
    }
    this.#member?.end();
    this.#member = undefined;
  }

  #say(message: string): void {
    this.#out.say('dump-file', this.#file, `the archive ${message}`, 'pack it again', 'unknown');
  }
}

/** Text up to the first 0; bytes above 0x7f become one character each. */
function ascii(bytes: Uint8Array, from: number, length: number): string {
  let text = '';
  for (let i = from; i < from + length && bytes[i] !== 0; i += 1) {
    text += String.fromCharCode(bytes[i]!);
  }
  return text;
}

function octal(bytes: Uint8Array, from: number, length: number): number {
  const text = ascii(bytes, from, length).trim();
  return /^[0-7]+$/.test(text) ? Number.parseInt(text, 8) : text === '' ? 0 : Number.NaN;
}

/** Sum of a header with its checksum field taken as blanks. */
function checksum(head: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < BLOCK; i += 1) sum += i >= 148 && i < 156 ? 0x20 : head[i]!;
  return sum;
}

/** `path` of a pax extended header: records `length key=value\n`. */
function paxPath(bytes: Uint8Array): string | undefined {
  const text = ascii(bytes, 0, bytes.length);
  let path: string | undefined;
  for (let at = 0; at < text.length; ) {
    const record = /^([0-9]{1,6}) /.exec(text.slice(at, at + 8));
    const length = record === null ? 0 : Number(record[1]);
    if (record === null || length <= record[0].length) break;
    const body = text.slice(at + record[0].length, at + length - 1);
    if (body.startsWith('path=')) path = body.slice(5);
    at += length;
  }
  return path;
}
