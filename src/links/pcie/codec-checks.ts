/**
 * What the packet decoders share: the codes of broken checks, and checks as bytes of the wire.
 */

/** What a received byte sequence breaks. Codes are stable; messages are for people. */
export type DecodeErrorCode =
  | 'framing'
  | 'frame_crc'
  | 'frame_parity'
  | 'length'
  | 'format'
  | 'lcrc'
  | 'ecrc'
  | 'dllp_crc';

/** One broken check, with the place and both values. */
export interface DecodeError {
  readonly code: DecodeErrorCode;
  /** Offset of the first byte concerned, from the start of what was decoded. */
  readonly byteOffset: number;
  readonly expected: string;
  readonly got: string;
}

/** A check that came with a packet. */
export interface Check {
  readonly expected: number;
  readonly got: number;
}

/** What a decoder made of some bytes: a packet where there is one, and every broken check. */
export interface Decoded<Packet> {
  readonly packet?: Packet;
  readonly errors: readonly DecodeError[];
}

/** A number as checks are written: hexadecimal, upper case, `h` after it. */
export function hexadecimal(value: number, digits: number): string {
  return `${value.toString(16).toUpperCase().padStart(digits, '0')}h`;
}

/** A check as bytes of the wire, low byte first. */
export function checkBytes(value: number, bytes: 2 | 4): Uint8Array {
  return Uint8Array.from({ length: bytes }, (_, i) => (value >>> (8 * i)) & 0xff);
}

/** A check read from the wire, low byte first. */
export function readCheck(bytes: Uint8Array, offset: number, width: 2 | 4): number {
  let value = 0;
  for (let i = width - 1; i >= 0; i -= 1) value = ((value << 8) | bytes[offset + i]!) >>> 0;
  return value;
}

/** Joins byte arrays. */
export function concatenate(parts: readonly Uint8Array[]): Uint8Array {
  const joined = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    joined.set(part, at);
    at += part.length;
  }
  return joined;
}

/** The result of a decoder that found no packet. */
export function failure(
  code: DecodeErrorCode,
  byteOffset: number,
  expected: string,
  got: string,
): Decoded<never> {
  return { errors: [{ code, byteOffset, expected, got }] };
}

/** The error of a check, if it does not hold. */
export function checkErrors(
  code: DecodeErrorCode,
  byteOffset: number,
  { expected, got }: Check,
  digits: number,
): readonly DecodeError[] {
  if (expected === got) return [];
  return [
    { code, byteOffset, expected: hexadecimal(expected, digits), got: hexadecimal(got, digits) },
  ];
}
