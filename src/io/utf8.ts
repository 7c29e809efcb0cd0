/** Where a byte string stops being UTF-8, so that the place can be named. */

/**
 * Ranges of the first byte and the allowed second byte, with the bytes that follow: RFC 3629,
 * section 4 (no overlong forms, no surrogates, nothing above U+10FFFF).
 */
const forms: readonly (readonly [number, number, number, number, number])[] = [
  [0xc2, 0xdf, 0x80, 0xbf, 1],
  [0xe0, 0xe0, 0xa0, 0xbf, 2],
  [0xe1, 0xec, 0x80, 0xbf, 2],
  [0xed, 0xed, 0x80, 0x9f, 2],
  [0xee, 0xef, 0x80, 0xbf, 2],
  [0xf0, 0xf0, 0x90, 0xbf, 3],
  [0xf1, 0xf3, 0x80, 0xbf, 3],
  [0xf4, 0xf4, 0x80, 0x8f, 3],
];

/** Bytes of the well-formed character at `at`, or 0 when there is none. */
function characterLength(bytes: Uint8Array, at: number): number {
  const first = bytes[at]!;
  if (first < 0x80) return 1;
  const form = forms.find(([low, high]) => first >= low && first <= high);
  if (form === undefined) return 0;
  const [, , low, high, more] = form;
  for (let i = 1; i <= more; i += 1) {
    const byte = bytes[at + i];
    const [least, most] = i === 1 ? [low, high] : [0x80, 0xbf];
    if (byte === undefined || byte < least || byte > most) return 0;
  }
  return more + 1;
}

/** A place that is not UTF-8: byte offset from 0, line and column from 1. */
export interface BadByte {
  readonly offset: number;
  readonly line: number;
  readonly column: number;
  readonly byte: number;
}

/** The first byte that is not part of a UTF-8 character, or undefined when all are. */
export function firstBadByte(bytes: Uint8Array): BadByte | undefined {
  let line = 1;
  let column = 1;
  let at = 0;
  while (at < bytes.length) {
    const length = characterLength(bytes, at);
    if (length === 0) return { offset: at, line, column, byte: bytes[at]! };
    if (bytes[at] === 0x0a) {
      line += 1;
      column = 1;
    } else {
      column += 1;
    }
    at += length;
  }
  return undefined;
}
