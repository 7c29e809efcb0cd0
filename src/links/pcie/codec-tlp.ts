/**
 * Transaction layer packets to bytes and back, without sequence number, link CRC and framing.
 * Both directions read the layouts of the headers.
 */
import { crc32 } from '../../coding/index.ts';
import {
  type Check,
  checkBytes,
  checkErrors,
  concatenate,
  type Decoded,
  failure,
  hexadecimal,
  readCheck,
} from './codec-checks.ts';
import { byteLength, type FieldValues, packFields, unpackFields } from './fields.ts';
import {
  carriesPayload,
  digestLayout,
  type HeaderDw,
  headerDwOf,
  headerLayout,
  payloadBytesMax,
  type TlpKind,
} from './tlp.ts';

/** A transaction layer packet before encoding. */
export interface TlpFields {
  readonly kind: TlpKind;
  /** Header length of a memory request; the standard fixes it for the other kinds. */
  readonly headerDw: HeaderDw;
  /** True to append the end-to-end CRC. */
  readonly ecrc: boolean;
  /**
   * Header fields by name. `TD`, and `Length` of a packet with data, follow from the packet; they
   * may be given, and must then agree.
   */
  readonly values: FieldValues;
}

/** A transaction layer packet read back. An interrupt's write is an `MWr`: the wire cannot tell. */
export interface DecodedTlp extends TlpFields {
  readonly payload: Uint8Array;
  /** End-to-end CRC, where there is one. */
  readonly digest?: Check;
}

/**
 * End-to-end CRC of header and payload. The bits that a switch may change, bit 0 of Type and EP,
 * are taken as ones (2.7.1).
 */
export function endToEndCrc(headerAndPayload: Uint8Array): number {
  const invariant = Uint8Array.from(headerAndPayload);
  invariant[0] = invariant[0]! | 0x01;
  invariant[2] = invariant[2]! | 0x40;
  return crc32(invariant);
}

/** Length field of a payload: double words, 1024 sent as zero (2.2.2). */
function lengthField(bytes: number): number {
  return (bytes / 4) % 1024;
}

function requirePayload(kind: TlpKind, bytes: number): void {
  if (!carriesPayload(kind)) {
    if (bytes !== 0) throw new RangeError(`${kind}: expected no payload, got ${bytes} bytes`);
  } else if (bytes % 4 !== 0 || bytes < 4 || bytes > payloadBytesMax) {
    throw new RangeError(
      `${kind}: expected payload bytes 4 to ${payloadBytesMax} in steps of 4, got ${bytes}`,
    );
  }
}

/** Fields that follow from the packet itself, and those fixed by it that the caller may repeat. */
function derivedValues(tlp: TlpFields, payloadBytes: number): FieldValues {
  const derived: Record<string, number> = { TD: tlp.ecrc ? 1 : 0 };
  if (carriesPayload(tlp.kind)) derived.Length = lengthField(payloadBytes);
  if (tlp.kind === 'MsiWrite') derived.Length = 1;
  for (const [name, value] of Object.entries(derived)) {
    const asked = tlp.values[name];
    if (asked !== undefined && asked !== value) {
      throw new RangeError(`${name}: expected ${value} for this packet, got ${asked}`);
    }
  }
  return derived;
}

/**
 * Encodes a transaction layer packet: header, payload, digest.
 * @param payload whole double words, 4 to 4096 bytes, for `MWr` and `CplD`; empty for other kinds.
 * @throws RangeError for a payload or field value that the packet cannot carry.
 */
export function encodeTlp(tlp: TlpFields, payload: Uint8Array): Uint8Array {
  requirePayload(tlp.kind, payload.length);
  const values = { ...tlp.values, ...derivedValues(tlp, payload.length) };
  const body = concatenate([packFields(headerLayout(tlp.kind, tlp.headerDw), values), payload]);
  return tlp.ecrc ? concatenate([body, checkBytes(endToEndCrc(body), 4)]) : body;
}

/** Kinds that a receiver can tell apart, by Fmt without its length bit and Type (2.2.1.1). */
function kindOf(fmt: number, type: number): TlpKind | undefined {
  const withData = (fmt & 0b010) !== 0;
  if (fmt > 0b011) return undefined;
  if (type === 0b00000) return withData ? 'MWr' : 'MRd';
  if (type === 0b01010 && (fmt & 1) === 0) return withData ? 'CplD' : 'Cpl';
  return type >> 3 === 0b10 && fmt === 0b001 ? 'Msg' : undefined;
}

/**
 * Decodes a transaction layer packet that fills `bytes`.
 * @returns no packet when its format or length is wrong; one with an error when only its end-to-end
 *   CRC is. Never throws on damaged bytes.
 */
export function decodeTlp(bytes: Uint8Array): Decoded<DecodedTlp> {
  if (bytes.length < 12) return failure('length', 0, '12 bytes or more', `${bytes.length} bytes`);
  const [fmt, type] = [bytes[0]! >> 5, bytes[0]! & 0x1f];
  const kind = kindOf(fmt, type);
  if (!kind) {
    const got = `Fmt ${hexadecimal(fmt, 1)}, Type ${hexadecimal(type, 2)}`;
    return failure('format', 0, 'Fmt and Type of a packet with a layout', got);
  }
  const headerDw = headerDwOf(kind, fmt & 1 ? 4 : 3);
  const layout = headerLayout(kind, headerDw);
  const headerBytes = byteLength(layout);
  if (bytes.length < headerBytes) {
    return failure('length', 0, `${headerBytes} bytes or more`, `${bytes.length} bytes`);
  }
  const { values } = unpackFields(layout, bytes);
  const payloadBytes = carriesPayload(kind) ? (values.Length! || 1024) * 4 : 0;
  const ecrc = values.TD === 1;
  const bodyBytes = headerBytes + payloadBytes;
  const expected = bodyBytes + (ecrc ? byteLength(digestLayout(kind)) : 0);
  if (bytes.length !== expected) {
    return failure('length', 0, `${expected} bytes by Length and TD`, `${bytes.length} bytes`);
  }
  const packet = { kind, headerDw, ecrc, values, payload: bytes.slice(headerBytes, bodyBytes) };
  if (!ecrc) return { packet, errors: [] };
  const digest = {
    expected: endToEndCrc(bytes.subarray(0, bodyBytes)),
    got: readCheck(bytes, bodyBytes, 4),
  };
  return { packet: { ...packet, digest }, errors: checkErrors('ecrc', bodyBytes, digest, 8) };
}
