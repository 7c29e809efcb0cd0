/**
 * Data link layer packets to bytes and back, with their CRC and without framing.
 */
import { crc16 } from '../../coding/index.ts';
import {
  checkBytes,
  checkErrors,
  concatenate,
  type Decoded,
  failure,
  hexadecimal,
  readCheck,
} from './codec-checks.ts';
import {
  type CreditType,
  creditTypes,
  type DllpKind,
  dllpContentLayout,
  dllpKinds,
  dllpLayout,
} from './dllp.ts';
import { byteLength, type FieldValues, packFields, unpackFields } from './fields.ts';

/** A data link layer packet. `credit` is absent for Ack and Nak. */
export interface DllpFields {
  readonly kind: DllpKind;
  readonly credit?: CreditType;
  readonly values: FieldValues;
}

/**
 * Encodes a data link layer packet with its CRC.
 * @throws RangeError for a value outside its field, or a flow control packet without credit type.
 */
export function encodeDllp({ kind, credit, values }: DllpFields): Uint8Array {
  const sequenced = kind === 'Ack' || kind === 'Nak';
  if (sequenced !== (credit === undefined)) {
    throw new RangeError(`${kind}: expected ${sequenced ? 'no' : 'a'} credit type, got ${credit}`);
  }
  const content = packFields(dllpContentLayout(kind, credit), values);
  return concatenate([content, checkBytes(crc16(content), 2)]);
}

const dllpVariants: readonly Omit<DllpFields, 'values'>[] = dllpKinds.flatMap(
  (kind): Omit<DllpFields, 'values'>[] =>
    kind === 'Ack' || kind === 'Nak' ? [{ kind }] : creditTypes.map((credit) => ({ kind, credit })),
);

/**
 * Decodes a data link layer packet that fills `bytes`. One whose CRC fails is dropped, as a
 * receiver must (3.6.2.2), and so is one of another type. Never throws on damaged bytes.
 */
export function decodeDllp(bytes: Uint8Array): Decoded<DllpFields> {
  const whole = byteLength(dllpLayout('Ack'));
  if (bytes.length !== whole) {
    return failure('length', 0, `${whole} bytes`, `${bytes.length} bytes`);
  }
  const contentBytes = byteLength(dllpContentLayout('Ack'));
  const expected = crc16(bytes, 0, contentBytes);
  const got = readCheck(bytes, contentBytes, 2);
  const errors = checkErrors('dllp_crc', contentBytes, { expected, got }, 4);
  if (errors.length > 0) return { errors };
  for (const variant of dllpVariants) {
    const layout = dllpContentLayout(variant.kind, variant.credit);
    const { values, mismatches } = unpackFields(layout, bytes);
    if (mismatches.length === 0) return { packet: { ...variant, values }, errors };
  }
  const type = hexadecimal(bytes[0]!, 2);
  return failure('format', 0, 'DLLP Type of a packet with a layout', type);
}
