/**
 * Symbols of a link back to packets, with every check a receiver makes and where it fails. Limits:
 * non-flit mode, no ordered sets, no lane placement rules, no sequence order.
 */
import { crc32 } from '../../coding/index.ts';
import {
  type Check,
  checkErrors,
  concatenate,
  type DecodeError,
  type DecodeErrorCode,
  hexadecimal,
  readCheck,
} from './codec-checks.ts';
import { type DllpFields, decodeDllp } from './codec-dllp.ts';
import type { SymbolStream } from './codec-framed.ts';
import { type DecodedTlp, decodeTlp } from './codec-tlp.ts';
import { byteLength, packFields, unpackFields } from './fields.ts';
import {
  edbToken,
  edsToken,
  frameCrc,
  frameParity,
  type LineFamily,
  sdpToken,
  specialSymbols,
  stpToken,
} from './framing.ts';

/** Where a packet lies in the stream, framing included, and the checks that it breaks. */
interface Placed {
  readonly byteOffset: number;
  readonly byteLength: number;
  readonly errors: readonly DecodeError[];
}

/** A transaction layer packet. `tlp` is absent for a damaged or nullified one. */
export interface FramedTlp extends Placed {
  readonly layer: 'transaction';
  readonly sequence: number;
  readonly nullified: boolean;
  /** Link CRC; the expected one is inverted for a nullified packet. */
  readonly lcrc: Check;
  readonly tlp?: DecodedTlp;
}

/** A data link layer packet. `dllp` is absent for a damaged one, or one without a layout. */
export interface FramedDllp extends Placed {
  readonly layer: 'data link';
  readonly dllp?: DllpFields;
}

/** The EDS token of 128b/130b. */
export interface FramedToken extends Placed {
  readonly layer: 'physical';
  readonly token: 'EDS';
}

export type FramedPacket = FramedTlp | FramedDllp | FramedToken;

/** All packets of a stream, and all errors in order, those inside packets included. */
export interface Deframed {
  readonly packets: readonly FramedPacket[];
  readonly errors: readonly DecodeError[];
}

/** What one step of a reader found, and where the next one starts. */
interface Step {
  readonly next: number;
  readonly packet?: FramedPacket;
  readonly errors?: readonly DecodeError[];
}

const sequenceBytes = 2;
const lcrcBytes = 4;
const dllpBytes = 6;
const tlpBytesMin = 12;
/** Lengths from here on are reserved or belong to protocol multiplexing (4.2.2.3.1). */
const tlpLengthReserved = 1152;

function error(
  code: DecodeErrorCode,
  byteOffset: number,
  expected: string,
  got: string,
): DecodeError {
  return { code, byteOffset, expected, got };
}

function moved(errors: readonly DecodeError[], offset: number): readonly DecodeError[] {
  return errors.map((e) => ({ ...e, byteOffset: e.byteOffset + offset }));
}

function shown(stream: SymbolStream, at: number): string {
  if (at >= stream.bytes.length) return 'the end of the stream';
  return `${stream.control[at] ? 'control' : 'data'} ${hexadecimal(stream.bytes[at]!, 2)}`;
}

/**
 * Checks and decodes what lies between framing: `prefix` is what the link CRC starts with, `tlpAt`
 * where the packet starts in the stream.
 */
function transaction(
  place: { readonly byteOffset: number; readonly byteLength: number },
  prefix: Uint8Array,
  body: Uint8Array,
  tlpAt: number,
  nullified: boolean,
): FramedTlp {
  const tlp = body.subarray(0, body.length - lcrcBytes);
  const crc = crc32(concatenate([prefix, tlp]));
  const lcrc = {
    expected: (nullified ? ~crc : crc) >>> 0,
    got: readCheck(body, body.length - lcrcBytes, 4),
  };
  const sequence = ((prefix[0]! & 0xf) << 8) | prefix[1]!;
  const errors = checkErrors('lcrc', tlpAt + tlp.length, lcrc, 8);
  const packet = { layer: 'transaction', ...place, sequence, nullified, lcrc } as const;
  if (errors.length > 0 || nullified) return { ...packet, errors };
  const decoded = decodeTlp(tlp);
  const found = decoded.packet ? { tlp: decoded.packet } : {};
  return { ...packet, ...found, errors: moved(decoded.errors, tlpAt) };
}

function dataLink(byteOffset: number, whole: number, bytes: Uint8Array, at: number): FramedDllp {
  const decoded = decodeDllp(bytes);
  const found = decoded.packet ? { dllp: decoded.packet } : {};
  const errors = moved(decoded.errors, at);
  return { layer: 'data link', byteOffset, byteLength: whole, ...found, errors };
}

/** First start symbol from `from` on: where a receiver of 8b/10b picks up again. */
function nextStart(stream: SymbolStream, from: number): number {
  const { bytes, control } = stream;
  for (let at = from; at < bytes.length; at += 1) {
    const start = bytes[at] === specialSymbols.STP || bytes[at] === specialSymbols.SDP;
    if (control[at] && start) return at;
  }
  return bytes.length;
}

function readSymbolPacket(stream: SymbolStream, start: number): Step {
  const { bytes, control } = stream;
  const transactional = bytes[start] === specialSymbols.STP;
  let end = start + 1;
  while (end < bytes.length && !control[end]) end += 1;
  const nullified = transactional && bytes[end] === specialSymbols.EDB;
  if (end === bytes.length || !(nullified || bytes[end] === specialSymbols.END)) {
    const expected = transactional ? 'END or EDB' : 'END';
    const errors = [error('framing', end, expected, shown(stream, end))];
    return { next: nextStart(stream, end), errors };
  }
  const inside = bytes.subarray(start + 1, end);
  const place = { byteOffset: start, byteLength: end + 1 - start };
  if (!transactional) {
    return { next: end + 1, packet: dataLink(start, place.byteLength, inside, start + 1) };
  }
  const least = sequenceBytes + tlpBytesMin + lcrcBytes;
  if (inside.length < least) {
    const errors = [error('length', start, `${least} symbols or more`, `${inside.length} symbols`)];
    return { next: end + 1, errors };
  }
  const [prefix, body] = [inside.subarray(0, sequenceBytes), inside.subarray(sequenceBytes)];
  const packet = transaction(place, prefix, body, start + 1 + sequenceBytes, nullified);
  return { next: end + 1, packet };
}

function readSymbols(stream: SymbolStream, at: number): Step {
  const byte = stream.bytes[at]!;
  if (stream.control[at] ? byte === specialSymbols.PAD : byte === 0) return { next: at + 1 };
  if (stream.control[at] && (byte === specialSymbols.STP || byte === specialSymbols.SDP)) {
    return readSymbolPacket(stream, at);
  }
  const errors = [error('framing', at, 'STP, SDP, PAD or idle', shown(stream, at))];
  return { next: nextStart(stream, at + 1), errors };
}

/** A framing error of 128b/130b ends the data stream: the link goes to recovery (4.2.2.3.5). */
function stop(stream: SymbolStream, ...errors: readonly DecodeError[]): Step {
  return { next: stream.bytes.length, errors };
}

/** Compares a token of fixed bytes with the stream. */
function tokenErrors(stream: SymbolStream, at: number, name: string, token: Uint8Array) {
  const wrong = token.findIndex((byte, i) => stream.bytes[at + i] !== byte);
  if (wrong < 0) return [];
  const expected = `${name} symbol ${hexadecimal(token[wrong]!, 2)}`;
  return [error('framing', at + wrong, expected, shown(stream, at + wrong))];
}

function readSdp(stream: SymbolStream, start: number): Step {
  const token = packFields(sdpToken, {});
  const errors = tokenErrors(stream, start, 'SDP', token);
  if (errors.length > 0) return stop(stream, ...errors);
  const at = start + token.length;
  const next = at + dllpBytes;
  if (next > stream.bytes.length) {
    return stop(stream, error('framing', at, `${dllpBytes} symbols`, shown(stream, next)));
  }
  return { next, packet: dataLink(start, next - start, stream.bytes.subarray(at, next), at) };
}

function lengthErrors(start: number, length: number, fcrc: number, parity: number) {
  const checked = [
    ...checkErrors('frame_crc', start + 2, { expected: frameCrc(length), got: fcrc }, 1),
    ...checkErrors('frame_parity', start + 1, { expected: frameParity(length), got: parity }, 1),
  ];
  if (checked.length > 0) return checked;
  const least = 1 + (tlpBytesMin + lcrcBytes) / 4;
  if (length >= least && length < tlpLengthReserved) return [];
  const expected = `TLP Length ${least} to ${tlpLengthReserved - 1}`;
  return [error('length', start, expected, `${length}`)];
}

function readStp(stream: SymbolStream, start: number): Step {
  const { bytes } = stream;
  const at = start + byteLength(stpToken);
  if (at > bytes.length) {
    return stop(stream, error('framing', start, 'a token of 4 symbols', shown(stream, at)));
  }
  const { values } = unpackFields(stpToken, bytes, start);
  const length = (values['TLP Length[10:4]']! << 4) | values['TLP Length[3:0]']!;
  if (length === 1) {
    const errors = tokenErrors(stream, start, 'EDS', packFields(edsToken, {}));
    if (errors.length > 0) return stop(stream, ...errors);
    const place = { byteOffset: start, byteLength: at - start, errors };
    return { next: at, packet: { layer: 'physical', token: 'EDS', ...place } };
  }
  const errors = lengthErrors(start, length, values.FCRC!, values['Frame Parity']!);
  if (errors.length > 0) return stop(stream, ...errors);
  const end = start + 4 * length;
  if (end > bytes.length) {
    return stop(stream, error('framing', start, `${4 * length} symbols`, shown(stream, end)));
  }
  return readBody(stream, start, at, end, values['TLP Sequence Number']!);
}

function readBody(
  stream: SymbolStream,
  start: number,
  at: number,
  end: number,
  sequence: number,
): Step {
  const token = packFields(edbToken, {});
  const nullified = stream.bytes[end] === token[0];
  const errors = nullified ? tokenErrors(stream, end, 'EDB', token) : [];
  if (errors.length > 0) return stop(stream, ...errors);
  const next = nullified ? end + token.length : end;
  const prefix = Uint8Array.of(sequence >> 8, sequence & 0xff);
  const place = { byteOffset: start, byteLength: next - start };
  const body = stream.bytes.subarray(at, end);
  return { next, packet: transaction(place, prefix, body, at, nullified) };
}

function readTokens(stream: SymbolStream, at: number): Step {
  const byte = stream.bytes[at]!;
  if (byte === 0) return { next: at + 1 };
  if ((byte & 0xf) === 0xf) return readStp(stream, at);
  if (byte === 0xf0) return readSdp(stream, at);
  return stop(stream, error('framing', at, 'the start of a token', shown(stream, at)));
}

/**
 * Reads a whole stream. Damage never throws: with 8b/10b reading goes on at the next start
 * symbol, with 128b/130b a framing error ends it, because there only the lengths say where packets
 * begin.
 * @throws RangeError when `control` is not as long as `bytes`, or marks a control character in
 *   128b/130b, which has none.
 */
export function decodeFramed(stream: SymbolStream, family: LineFamily): Deframed {
  const { bytes, control } = stream;
  if (control.length !== bytes.length) {
    throw new RangeError(`control: expected ${bytes.length} entries, got ${control.length}`);
  }
  if (family === '128b130b' && control.includes(1)) {
    throw new RangeError(`control: expected none in 128b/130b, got one at ${control.indexOf(1)}`);
  }
  const read = family === '8b10b' ? readSymbols : readTokens;
  const packets: FramedPacket[] = [];
  const errors: DecodeError[] = [];
  for (let at = 0; at < bytes.length; ) {
    const step = read(stream, at);
    if (step.packet) {
      packets.push(step.packet);
      errors.push(...step.packet.errors);
    }
    errors.push(...(step.errors ?? []));
    at = step.next;
  }
  return { packets, errors };
}
