/** A listing: headings with addresses, rows of bytes under them, anything else between. */
import type { Place } from '../../model/basis.ts';
import { quoted } from '../notes.ts';
import { addressAt, addressText } from './address.ts';
import type { DumpCollector } from './collector.ts';
import { RowParser } from './row.ts';
import { SpaceBuilder } from './space-builder.ts';
import type { FunctionAddress } from './types.ts';
import { SPACE_BYTES_MAX } from './types.ts';

const LF = 0x0a;
const CR = 0x0d;
/** Longest line looked at; what is longer is no row and no heading. */
const LINE_BYTES_MAX = 4096;
/** An address has at most this many bytes. */
const HEADING_BYTES = 20;

/** Reads a listing piece by piece, and hands each function to the collector as it ends. */
export class ListingReader {
  readonly #out: DumpCollector;
  readonly #file: string;
  readonly #given: FunctionAddress | undefined;
  readonly #row = new RowParser();
  readonly #space = new SpaceBuilder();
  #rest: Uint8Array = new Uint8Array(0);
  #dropping = false;
  #line = 0;
  #address: FunctionAddress | undefined;
  #place: Place;
  #open = false;
  /** Rows found, of all functions. */
  rows = 0;

  /** `given` is the address that a file name says, for rows without a heading. */
  constructor(out: DumpCollector, file: string, given?: FunctionAddress) {
    this.#out = out;
    this.#file = file;
    this.#given = given;
    this.#address = given;
    this.#place = { file, line: 1, column: 1 };
  }

  push(chunk: Uint8Array): void {
    let from = 0;
    for (;;) {
      // Only whole lines: neither begun in an earlier chunk, nor to be passed over.
      if (this.#rest.length === 0 && !this.#dropping) from = this.#plainRows(chunk, from);
      const end = chunk.indexOf(LF, from);
      if (end < 0) break;
      if (this.#rest.length > 0) {
        const whole = joined(this.#rest, chunk.subarray(from, end));
        this.#rest = new Uint8Array(0);
        this.#take(whole, 0, whole.length);
      } else {
        this.#take(chunk, from, end);
      }
      from = end + 1;
    }
    if (from >= chunk.length) return;
    if (this.#rest.length + chunk.length - from > LINE_BYTES_MAX) {
      this.#dropping = true;
      this.#rest = new Uint8Array(0);
    } else if (!this.#dropping) {
      this.#rest = joined(this.#rest, chunk.subarray(from));
    }
  }

  /** Takes rows as long as they are plain; returns the beginning of the first line that is none. */
  #plainRows(chunk: Uint8Array, from: number): number {
    let at = from;
    for (;;) {
      const end = this.#row.parsePlain(chunk, at);
      if (end < 0) return at;
      this.#line += 1;
      this.#takeRow();
      at = end + 1;
    }
  }

  end(): void {
    if (this.#rest.length > 0) this.#take(this.#rest, 0, this.#rest.length);
    this.#rest = new Uint8Array(0);
    this.#finish();
  }

  #take(bytes: Uint8Array, from: number, end: number): void {
    this.#line += 1;
    if (this.#dropping) {
      this.#dropping = false;
      return;
    }
    let to = end;
    while (to > from && (bytes[to - 1] === CR || bytes[to - 1] === 0x20)) to -= 1;
    if (to === from || to - from > LINE_BYTES_MAX) return;
    if (this.#row.parse(bytes, from, to)) this.#takeRow();
    else this.#heading(bytes, from, to);
  }

  #heading(bytes: Uint8Array, from: number, to: number): void {
    let text = '';
    const end = Math.min(to, from + HEADING_BYTES);
    for (let i = from; i < end; i += 1) text += String.fromCharCode(bytes[i]!);
    const address = addressAt(text);
    if (address === undefined) return;
    if ('wrong' in address) {
      this.#finish();
      this.#address = undefined;
      this.#out.say(
        'dump-heading',
        `${this.#file}, line ${this.#line}`,
        `${quoted(text.trim())} looks like the address of a function, but there is no ${address.wrong}`,
        'the rows under it are kept without an address; correct the line',
        'unknown',
      );
    } else {
      this.#finish();
      this.#address = address;
    }
    this.#open = true;
    this.#place = { file: this.#file, line: this.#line, column: 1 };
  }

  #takeRow(): void {
    const { offset, count, values, holes, fault } = this.#row;
    this.rows += 1;
    if (fault !== undefined) this.#bad(fault.column, `expected ${fault.expected}`);
    if (count === 0) return;
    if (offset % 16 !== 0 || offset + count > SPACE_BYTES_MAX) {
      const why = offset % 16 === 0 ? 'is past the end at 0x1000' : 'is no multiple of 0x10';
      this.#bad(1, `the offset 0x${offset.toString(16)} ${why}; the row is not used`);
      return;
    }
    if (!this.#open) this.#unnamed();
    else if (this.#address === undefined && offset === 0 && !this.#space.empty) {
      // Without headings a new function can only begin at offset 0.
      this.#finish();
      this.#unnamed();
    }
    if (this.#space.add(offset, values, count, holes) === 'differs') {
      this.#bad(1, `0x${offset.toString(16)} is given a second time, with other bytes; not used`);
    }
  }

  /** Rows that no heading stands above. */
  #unnamed(): void {
    this.#open = true;
    this.#address = this.#given;
    this.#place = { file: this.#file, line: this.#line, column: 1 };
    if (this.#given !== undefined) return;
    this.#out.say(
      'dump-unnamed',
      `${this.#file}, line ${this.#line}`,
      'rows without an address above them',
      'put a line bus:device.function in front of them to say which function they are of',
    );
  }

  #bad(column: number, message: string): void {
    this.#out.say(
      'dump-row',
      `${this.#file}, line ${this.#line}`,
      `column ${column}: ${message}`,
      'correct the row, or dump the function again',
      'unknown',
    );
  }

  #finish(): void {
    if (!this.#open) return;
    const { bytes, gaps } = this.#space.take();
    const address = this.#address;
    const place = this.#place;
    // A heading alone says that the function is there, and that nothing of it was written down.
    const what = address === undefined ? `${place.file}, line ${place.line}` : addressText(address);
    this.#out.add({ ...(address !== undefined && { address }), bytes, gaps, place }, what);
    this.#space.clear();
    this.#open = false;
  }
}

function joined(a: Uint8Array, b: Uint8Array): Uint8Array {
  const whole = new Uint8Array(a.length + b.length);
  whole.set(a);
  whole.set(b, a.length);
  return whole;
}
