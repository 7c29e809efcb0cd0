/** Random packets for the tests of the packet codec. */
import fc from 'fast-check';
import type { DllpFields } from '../../src/links/pcie/codec-dllp.ts';
import type { TlpFields } from '../../src/links/pcie/codec-tlp.ts';
import { creditTypes, dllpContentLayout, dllpKinds } from '../../src/links/pcie/dllp.ts';
import type { FieldShape } from '../../src/links/pcie/fields.ts';
import { carriesPayload, headerLayout, type TlpKind, tlpKinds } from '../../src/links/pcie/tlp.ts';

/** Random values for the fields that a sender may choose. */
function valuesOf(layout: readonly FieldShape[], derived: readonly string[] = []) {
  const free = layout.filter((f) => f.fixed === undefined && !derived.includes(f.name));
  return fc.record(
    Object.fromEntries(free.map((f) => [f.name, fc.integer({ min: 0, max: 2 ** f.bits - 1 })])),
  );
}

/** A transaction layer packet to encode. */
export interface TlpCase {
  readonly fields: TlpFields;
  readonly payload: Uint8Array;
}

/** Any transaction layer packet with a layout. */
export const tlpCase: fc.Arbitrary<TlpCase> = fc
  .record({
    kind: fc.constantFrom(...tlpKinds),
    headerDw: fc.constantFrom<3 | 4>(3, 4),
    ecrc: fc.boolean(),
    dws: fc.oneof(fc.integer({ min: 1, max: 16 }), fc.constantFrom(255, 256, 1023, 1024)),
  })
  .chain(({ kind, headerDw, ecrc, dws }) => {
    const payloadBytes = carriesPayload(kind) ? 4 * dws : 0;
    const derived = kind === 'MsiWrite' || payloadBytes > 0 ? ['TD', 'Length'] : ['TD'];
    return fc.record({
      fields: fc.record({
        kind: fc.constant<TlpKind>(kind),
        headerDw: fc.constant(headerDw),
        ecrc: fc.constant(ecrc),
        values: valuesOf(headerLayout(kind, headerDw), derived),
      }),
      payload: fc.uint8Array({ minLength: payloadBytes, maxLength: payloadBytes }),
    });
  });

/** Any data link layer packet with a layout. */
export const dllpCase: fc.Arbitrary<DllpFields> = fc
  .record({ kind: fc.constantFrom(...dllpKinds), type: fc.constantFrom(...creditTypes) })
  .chain(({ kind, type }) => {
    const credit = kind === 'Ack' || kind === 'Nak' ? {} : { credit: type };
    return valuesOf(dllpContentLayout(kind, type)).map((values) => ({ kind, ...credit, values }));
  });
