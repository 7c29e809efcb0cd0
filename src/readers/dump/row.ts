/**
 * One line of a listing as a row of bytes: offset, colon, bytes in hexadecimal; or an offset of eight
 * digits, two blanks, bytes. What follows sixteen bytes, or two blanks, is a column for the eye.
 */

/** Bytes that a row has at most. */
export const ROW_BYTES = 16;

/** What is wrong with a row, and at which column, from 1. */
export interface RowFault {
  readonly column: number;
  readonly expected: string;
}

const BLANK = 0x20;
const TAB = 0x09;
const COLON = 0x3a;
const LF = 0x0a;

/** Value of each byte as a hexadecimal digit, −1 for none. */
const digit = new Int8Array(256).fill(-1);
for (let i = 0; i < 10; i += 1) digit[0x30 + i] = i;
for (let i = 0; i < 6; i += 1) {
  digit[0x41 + i] = 10 + i;
  digit[0x61 + i] = 10 + i;
}

const isBlank = (byte: number) => byte === BLANK || byte === TAB;

/** Reads rows into its own fields, which the next call overwrites. */
export class RowParser {
  offset = 0;
  /** Bytes read, and how many; −1 for a byte written as `??` or `xx`. */
  readonly values = new Int16Array(ROW_BYTES);
  count = 0;
  holes = false;
  fault: RowFault | undefined;

  /**
   * Reads a row as nearly all listings have it, offset, colon and sixteen bytes with one blank in
   * front of each, straight up to its line feed. Returns where that stands, or −1 for any other
   * line, which is for `parse`.
   */
  parsePlain(line: Uint8Array, from: number): number {
    let at = from;
    let offset = 0;
    for (; at - from <= 4; at += 1) {
      const value = digit[line[at]!];
      if (value === undefined || value < 0) break;
      offset = offset * 16 + value;
    }
    if (at - from < 2 || at - from > 4 || line[at] !== COLON) return -1;
    const end = at + 1 + 3 * ROW_BYTES;
    if (end >= line.length || line[end] !== LF) return -1;
    const { values } = this;
    // Negative once any digit is none; not 0 once any blank is none.
    let digits = 0;
    let blanks = 0;
    at += 1;
    for (let i = 0; i < ROW_BYTES; i += 1, at += 3) {
      const high = digit[line[at + 1]!]!;
      const low = digit[line[at + 2]!]!;
      digits |= high | low;
      blanks |= line[at]! ^ BLANK;
      values[i] = 16 * high + low;
    }
    if (digits < 0 || blanks !== 0) return -1;
    this.offset = offset;
    this.count = ROW_BYTES;
    this.holes = false;
    this.fault = undefined;
    return end;
  }

  /** True when `line[from…to)` is meant as a row, sound or not. */
  parse(line: Uint8Array, from: number, to: number): boolean {
    let at = from;
    while (at < to && isBlank(line[at]!)) at += 1;
    let offset = 0;
    const begin = at;
    for (; at < to && at - begin <= 8; at += 1) {
      const value = digit[line[at]!]!;
      if (value < 0) break;
      offset = offset * 16 + value;
    }
    const digits = at - begin;
    if (digits < 2 || digits > 8) return false;
    if (line[at] === COLON && at < to) {
      at += 1;
      if (at < to && !isBlank(line[at]!)) return false;
    } else if (digits !== 8 || line[at] !== BLANK || line[at + 1] !== BLANK) {
      return false;
    }
    this.offset = offset;
    this.count = 0;
    this.holes = false;
    this.fault = undefined;
    return this.#bytes(line, at, to, from);
  }

  #bytes(line: Uint8Array, begin: number, to: number, from: number): boolean {
    let at = begin;
    while (at < to) {
      // One blank and two digits, as nearly all bytes of nearly all listings come.
      if (this.count < ROW_BYTES && line[at] === BLANK && at + 3 <= to) {
        const [high, low] = [digit[line[at + 1]!]!, digit[line[at + 2]!]!];
        if ((high | low) >= 0 && (at + 3 === to || isBlank(line[at + 3]!))) {
          this.values[this.count] = 16 * high + low;
          this.count += 1;
          at += 3;
          continue;
        }
      }
      const before = at;
      while (at < to && isBlank(line[at]!)) at += 1;
      if (at >= to) break;
      // Sixteen bytes are a row; hexdump columns have two blanks in the middle of one.
      if (this.count === ROW_BYTES || (line[at] === 0x7c && this.count > 0)) {
        if (at - before < 2 && line[at] !== 0x7c)
          this.#wrong(at, from, 'at most 16 bytes in a row');
        break;
      }
      let end = at;
      while (end < to && !isBlank(line[end]!)) end += 1;
      const value = end - at === 2 ? pair(line[at]!, line[at + 1]!) : -2;
      if (value === -2) {
        if (this.count === 0 && !isHexWord(line, at, end)) return false;
        this.#wrong(at, from, expectation(line, at, end));
        break;
      }
      if (value < 0) this.holes = true;
      this.values[this.count] = value;
      this.count += 1;
      at = end;
    }
    return this.count > 0 || this.fault !== undefined;
  }

  #wrong(at: number, from: number, expected: string): void {
    this.fault = { column: at - from + 1, expected };
  }
}

/** Value of two digits; −1 for a byte that the writer could not read, −2 for anything else. */
function pair(a: number, b: number): number {
  const high = digit[a]!;
  const low = digit[b]!;
  if (high >= 0 && low >= 0) return 16 * high + low;
  const unread = (c: number) => c === 0x3f || c === 0x58 || c === 0x78 || c === 0x2d;
  return unread(a) && a === b ? -1 : -2;
}

function isHexWord(line: Uint8Array, from: number, to: number): boolean {
  if (to - from !== 4 && to - from !== 8) return false;
  for (let i = from; i < to; i += 1) if (digit[line[i]!]! < 0) return false;
  return true;
}

function expectation(line: Uint8Array, from: number, to: number): string {
  return isHexWord(line, from, to)
    ? 'single bytes; the byte order within groups is open'
    : 'bytes of two hexadecimal digits';
}
