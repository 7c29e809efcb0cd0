/**
 * Framed packets as the symbols of a link, before scrambling and line code, striped over no lanes:
 * the stream as it would pass a link one lane wide. Ordered sets are not part of it.
 */
import { crc32 } from '../../coding/index.ts';
import { checkBytes, concatenate } from './codec-checks.ts';
import { packFields } from './fields.ts';
import {
  dllpFraming,
  edbToken,
  edsToken,
  frameCrc,
  frameParity,
  type LineFamily,
  sequenceShapes,
  specialSymbols,
  tlpFraming,
} from './framing.ts';

/** Symbols of a link: byte values, and which of them are control characters (8b/10b only). */
export interface SymbolStream {
  readonly bytes: Uint8Array;
  /** 1 for a control character, 0 for data; as long as `bytes`. */
  readonly control: Uint8Array;
}

/** Sequence numbers run from 0 to this (3.6.2.1: 12 bits). */
export const sequenceMax = 0xfff;

/**
 * Link CRC of a packet: over four reserved zeros, the sequence number and the packet. The zeros are
 * counted whether they are sent (8b/10b) or not (128b/130b, 4.2.2.3.1).
 */
export function linkCrc(tlp: Uint8Array, sequence: number): number {
  const prefix = packFields(sequenceShapes, { 'TLP Sequence Number': sequence });
  return crc32(concatenate([prefix, tlp]));
}

function symbols(bytes: Uint8Array, controlAt: readonly number[] = []): SymbolStream {
  const control = new Uint8Array(bytes.length);
  for (const at of controlAt) control[at] = 1;
  return { bytes, control };
}

/** Joins streams in order. */
export function joinSymbols(streams: readonly SymbolStream[]): SymbolStream {
  return {
    bytes: concatenate(streams.map((stream) => stream.bytes)),
    control: concatenate(streams.map((stream) => stream.control)),
  };
}

/** Logical idle: data 00h in both line codes (4.2.1.2.1, 4.2.2.3.1). */
export function logicalIdle(count: number): SymbolStream {
  return symbols(new Uint8Array(count));
}

/** The EDS token of 128b/130b. */
export function endOfDataStream(): SymbolStream {
  return symbols(packFields(edsToken, {}));
}

function requireTlp(tlp: Uint8Array): void {
  if (tlp.length < 12 || tlp.length % 4 !== 0) {
    throw new RangeError(`packet: expected double words, 12 bytes or more, got ${tlp.length}`);
  }
}

/** Fields of the STP token for a packet of so many bytes between token and link CRC. */
function stpValues(tlpBytes: number, sequence: number): Readonly<Record<string, number>> {
  const length = tlpBytes / 4 + 2;
  return {
    'TLP Length[3:0]': length & 0xf,
    'TLP Length[10:4]': length >> 4,
    FCRC: frameCrc(length),
    'Frame Parity': frameParity(length),
    'TLP Sequence Number': sequence,
  };
}

/**
 * Frames an encoded transaction layer packet.
 * @param tlp header, payload and digest, see `encodeTlp`.
 * @param sequence 0 to 4095.
 * @param nullified true to end it as a packet that the receiver must drop: inverted link CRC, EDB.
 * @throws RangeError for a sequence number out of range or a packet of no whole double words.
 */
export function frameTlp(
  tlp: Uint8Array,
  sequence: number,
  family: LineFamily,
  nullified = false,
): SymbolStream {
  requireTlp(tlp);
  const crc = linkCrc(tlp, sequence);
  const lcrc = checkBytes(nullified ? ~crc : crc, 4);
  const { before } = tlpFraming(family, 'framing');
  if (family === '128b130b') {
    const token = packFields(before, stpValues(tlp.length, sequence));
    return symbols(concatenate([token, tlp, lcrc, packFields(nullified ? edbToken : [], {})]));
  }
  const start = packFields(before, { 'TLP Sequence Number': sequence });
  const end = Uint8Array.of(nullified ? specialSymbols.EDB : specialSymbols.END);
  const bytes = concatenate([start, tlp, lcrc, end]);
  return symbols(bytes, [0, bytes.length - 1]);
}

/** Frames an encoded data link layer packet of 6 bytes, see `encodeDllp`. */
export function frameDllp(dllp: Uint8Array, family: LineFamily): SymbolStream {
  if (dllp.length !== 6) throw new RangeError(`packet: expected 6 bytes, got ${dllp.length}`);
  const { before, after } = dllpFraming(family, 'acknowledgements');
  const bytes = concatenate([packFields(before, {}), dllp, packFields(after, {})]);
  return symbols(bytes, family === '8b10b' ? [0, bytes.length - 1] : []);
}
