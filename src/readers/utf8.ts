/**
 * Bytes to text, piece by piece, UTF-8 as of RFC 3629. Line ends become `\n`, a byte order mark is
 * dropped. A byte that is no part of a character becomes U+FFFD, and the first one is told.
 */

/** A byte that is not UTF-8. */
export interface BadByte {
  /** Index in the text of the piece. */
  readonly index: number;
  /** Offset in the file, from 0. */
  readonly offset: number;
  readonly byte: number;
}

/** A piece of text, and the first byte in it that was none. */
export interface TextPiece {
  readonly text: string;
  readonly bad?: BadByte;
}

/** Bytes turned into text at a time: more arguments can overflow the stack. */
const PIECE_BYTES = 4096;

/** Decodes a stream of bytes. */
export class Utf8Decoder {
  #carry: Uint8Array = new Uint8Array(0);
  #offset = 0;
  #afterReturn = false;
  #begun = false;

  /** Text of the next bytes; a character or line end cut in two is kept for the next call. */
  decode(chunk: Uint8Array): TextPiece {
    let bytes = chunk;
    if (this.#carry.length > 0) {
      bytes = new Uint8Array(this.#carry.length + chunk.length);
      bytes.set(this.#carry);
      bytes.set(chunk, this.#carry.length);
    }
    const end = bytes.length - cutLength(bytes);
    this.#carry = bytes.slice(end);
    return this.#piece(bytes.subarray(0, end));
  }

  /** What was left of a character cut short by the end of the file. */
  end(): TextPiece {
    const rest = this.#carry;
    this.#carry = new Uint8Array(0);
    return this.#piece(rest);
  }

  #piece(bytes: Uint8Array): TextPiece {
    const start = this.#offset;
    this.#offset += bytes.length;
    const raw: TextPiece = isAscii(bytes) ? { text: ascii(bytes) } : decoded(bytes, start);
    return this.#tidied(raw);
  }

  /** Drops the byte order mark and joins line ends; the index of a bad byte moves along. */
  #tidied({ text, bad }: TextPiece): TextPiece {
    let skip = 0;
    if (!this.#begun && text.startsWith('\ufeff')) skip = 1;
    if (text !== '') this.#begun = true;
    if (this.#afterReturn && text.startsWith('\n')) skip = 1;
    if (text !== '') this.#afterReturn = text.endsWith('\r');
    const kept = skip === 0 ? text : text.slice(skip);
    const plain = joinedEnds(kept);
    if (bad === undefined) return { text: plain };
    const index = joinedEnds(kept.slice(0, Math.max(bad.index - skip, 0))).length;
    return { text: plain, bad: { ...bad, index } };
  }
}

function joinedEnds(text: string): string {
  return text.includes('\r') ? text.replace(/\r\n?/g, '\n') : text;
}

function isAscii(bytes: Uint8Array): boolean {
  let or = 0;
  for (let i = 0; i < bytes.length; i += 1) or |= bytes[i]!;
  return or < 0x80;
}

function ascii(bytes: Uint8Array): string {
  let text = '';
  for (let at = 0; at < bytes.length; at += PIECE_BYTES) {
    const piece = bytes.subarray(at, at + PIECE_BYTES);
    // The declared type wants an array; any list of numbers will do.
    text += String.fromCharCode.apply(null, piece as unknown as number[]);
  }
  return text;
}

/** First byte, allowed range of the second, bytes that follow: RFC 3629, section 4. */
function form(first: number): readonly [low: number, high: number, more: number] | undefined {
  if (first >= 0xc2 && first <= 0xdf) return [0x80, 0xbf, 1];
  if (first >= 0xe0 && first <= 0xef) {
    return [first === 0xe0 ? 0xa0 : 0x80, first === 0xed ? 0x9f : 0xbf, 2];
  }
  if (first >= 0xf0 && first <= 0xf4) {
    return [first === 0xf0 ? 0x90 : 0x80, first === 0xf4 ? 0x8f : 0xbf, 3];
  }
  return undefined;
}

/** Bytes at the end that begin a character and do not end it: 0 to 3. */
function cutLength(bytes: Uint8Array): number {
  for (let back = 1; back <= 3 && back <= bytes.length; back += 1) {
    const byte = bytes[bytes.length - back]!;
    if (byte >= 0x80 && byte <= 0xbf) continue;
    const more = form(byte)?.[2] ?? 0;
    return more >= back ? back : 0;
  }
  return 0;
}

function decoded(bytes: Uint8Array, start: number): TextPiece {
  let text = '';
  let bad: BadByte | undefined;
  let at = 0;
  while (at < bytes.length) {
    const run = asciiRun(bytes, at);
    if (run > at) text += ascii(bytes.subarray(at, run));
    at = run;
    if (at >= bytes.length) break;
    const [code, length] = character(bytes, at);
    if (code < 0) {
      bad ??= { index: text.length, offset: start + at, byte: bytes[at]! };
      text += '\ufffd';
    } else {
      text += String.fromCodePoint(code);
    }
    at += length;
  }
  return bad === undefined ? { text } : { text, bad };
}

function asciiRun(bytes: Uint8Array, from: number): number {
  let at = from;
  while (at < bytes.length && bytes[at]! < 0x80) at += 1;
  return at;
}

/** Code point and length of the character at `at`; −1 and 1 when there is none. */
function character(bytes: Uint8Array, at: number): readonly [number, number] {
  const first = bytes[at]!;
  const shape = form(first);
  if (shape === undefined) return [-1, 1];
  const [low, high, more] = shape;
  let code = first & (0x3f >> more);
  for (let i = 1; i <= more; i += 1) {
    const byte = bytes[at + i];
    if (byte === undefined || byte < (i === 1 ? low : 0x80) || byte > (i === 1 ? high : 0xbf)) {
      return [-1, 1];
    }
    code = (code << 6) | (byte & 0x3f);
  }
  return [code, more + 1];
}
