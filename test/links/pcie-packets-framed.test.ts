import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { hexadecimal } from '../../src/links/pcie/codec-checks.ts';
import { decodeFramed } from '../../src/links/pcie/codec-deframe.ts';
import { type DllpFields, encodeDllp } from '../../src/links/pcie/codec-dllp.ts';
import {
  endOfDataStream,
  frameDllp,
  frameTlp,
  joinSymbols,
  linkCrc,
  logicalIdle,
  type SymbolStream,
} from '../../src/links/pcie/codec-framed.ts';
import { encodeTlp } from '../../src/links/pcie/codec-tlp.ts';
import type { LineFamily } from '../../src/links/pcie/framing.ts';
import { overheadBytes, type PacketKind, wireBytes } from '../../src/links/pcie/sizes.ts';
import { dllpCase, type TlpCase, tlpCase } from './pcie-packets-arbitraries.ts';

const families: readonly LineFamily[] = ['8b10b', '128b130b'];

const sequence = fc.nat(0xfff);
const family = fc.constantFrom<LineFamily>(...families);

type Item =
  | { readonly tlp: TlpCase; readonly sequence: number; readonly nullified: boolean }
  | { readonly dllp: DllpFields }
  | { readonly idle: number };

const item: fc.Arbitrary<Item> = fc.oneof(
  fc.record({ tlp: tlpCase, sequence, nullified: fc.boolean() }),
  fc.record({ dllp: dllpCase }),
  fc.record({ idle: fc.nat(5) }),
);

function framed(one: Item, line: LineFamily): SymbolStream {
  if ('idle' in one) return logicalIdle(one.idle);
  if ('dllp' in one) return frameDllp(encodeDllp(one.dllp), line);
  const tlp = encodeTlp(one.tlp.fields, one.tlp.payload);
  return frameTlp(tlp, one.sequence, line, one.nullified);
}

describe('framed packets', () => {
  test('a stream comes back packet by packet, in place and without an error', () => {
    fc.assert(
      fc.property(fc.array(item, { maxLength: 8 }), family, (items, line) => {
        const streams = items.map((one) => framed(one, line));
        const { packets, errors } = decodeFramed(joinSymbols(streams), line);
        expect(errors).toEqual([]);
        const expected = items.flatMap((one, i): readonly object[] => {
          const byteOffset = streams.slice(0, i).reduce((sum, s) => sum + s.bytes.length, 0);
          const place = { byteOffset, byteLength: streams[i]!.bytes.length };
          if ('idle' in one) return [];
          if ('dllp' in one) return [{ layer: 'data link', ...place, dllp: one.dllp }];
          const { sequence: number, nullified } = one;
          return [{ layer: 'transaction', ...place, sequence: number, nullified }];
        });
        expect(packets).toMatchObject(expected);
        const whole = items.filter((one) => 'tlp' in one);
        const tlps = packets.filter((packet) => packet.layer === 'transaction');
        for (const [i, packet] of tlps.entries()) {
          const { tlp, nullified } = whole[i]!;
          expect(packet.tlp === undefined).toBe(nullified);
          const payload = tlp.fields.kind === 'MsiWrite' ? packet.tlp?.payload : tlp.payload;
          if (!nullified) expect(packet.tlp?.payload).toEqual(payload);
        }
      }),
    );
  });

  test('encoded lengths are the wire bytes, account by account', () => {
    fc.assert(
      fc.property(tlpCase, sequence, family, ({ fields, payload }, number, line) => {
        const options = { headerDw: fields.headerDw, ecrc: fields.ecrc, family: line };
        const { bytes } = frameTlp(encodeTlp(fields, payload), number, line);
        const accounts = Object.values(overheadBytes(fields.kind, options));
        expect(accounts.reduce((sum, n) => sum + n, 0) + payload.length).toBe(bytes.length);
        expect(wireBytes(fields.kind, { ...options, payloadBytes: payload.length })).toBe(
          bytes.length,
        );
      }),
    );
    fc.assert(
      fc.property(dllpCase, family, (fields, line) => {
        const kind: PacketKind = fields.kind;
        const options = { headerDw: 3, ecrc: false, family: line, payloadBytes: 0 } as const;
        const { bytes } = frameDllp(encodeDllp(fields), line);
        expect(wireBytes(kind, options)).toBe(bytes.length);
      }),
    );
  });

  test('a change of any one byte is reported, and nothing damaged is passed on as good', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.record({ tlp: tlpCase, sequence, nullified: fc.constant(false) }),
          fc.record({ dllp: dllpCase }),
        ),
        family,
        fc.nat(),
        fc.integer({ min: 1, max: 255 }),
        (one, line, where, flip) => {
          const sent = joinSymbols([framed(one, line), logicalIdle(8)]);
          const at = where % (sent.bytes.length - 8);
          const bytes = Uint8Array.from(sent.bytes);
          bytes[at] = bytes[at]! ^ flip;
          const { packets, errors } = decodeFramed({ ...sent, bytes }, line);
          expect(errors.length).toBeGreaterThan(0);
          const good = packets.filter((packet) => packet.errors.length === 0);
          expect(good.filter((packet) => packet.layer !== 'physical')).toEqual([]);
        },
      ),
      { seed: 20, numRuns: 2000 },
    );
  });

  test('any bytes at all decode to packets or errors, each inside the stream', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 80 }),
        fc.func(fc.boolean()),
        family,
        (bytes, k, line) => {
          const control = bytes.map((_, i) => (line === '8b10b' && k(i) ? 1 : 0));
          const { packets, errors } = decodeFramed({ bytes, control }, line);
          for (const { byteOffset } of errors) {
            expect(byteOffset).toBeGreaterThanOrEqual(0);
            expect(byteOffset).toBeLessThanOrEqual(bytes.length);
          }
          let end = 0;
          for (const packet of packets) {
            expect(packet.byteOffset).toBeGreaterThanOrEqual(end);
            end = packet.byteOffset + packet.byteLength;
          }
          expect(end).toBeLessThanOrEqual(bytes.length);
        },
      ),
    );
  });
});

describe('errors name place, expected and got', () => {
  const read = encodeTlp(
    { kind: 'MRd', headerDw: 3, ecrc: false, values: { Length: 1 } },
    new Uint8Array(),
  );

  function changed(stream: SymbolStream, at: number, byte: number): SymbolStream {
    const bytes = Uint8Array.from(stream.bytes);
    bytes[at] = byte;
    return { ...stream, bytes };
  }

  test('a damaged link CRC', () => {
    const sent = joinSymbols([logicalIdle(2), frameTlp(read, 5, '8b10b')]);
    const { errors } = decodeFramed(changed(sent, 2 + 3 + 12, 0), '8b10b');
    const good = linkCrc(read, 5);
    const got = hexadecimal((good & 0xffffff00) >>> 0, 8);
    expect(errors).toEqual([{ code: 'lcrc', byteOffset: 17, expected: hexadecimal(good, 8), got }]);
  });

  // 4.2.2.3.5: a framing error of 128b/130b ends the data stream; 8b/10b goes on at a start.
  test('a damaged length ends 128b/130b but 8b/10b goes on after a damaged end', () => {
    const two = [frameTlp(read, 0, '128b130b'), frameTlp(read, 1, '128b130b')];
    const tokens = decodeFramed(changed(joinSymbols(two), 0, 0x4f), '128b130b');
    expect(tokens.packets).toEqual([]);
    expect(tokens.errors.map((e) => [e.code, e.byteOffset])).toEqual([
      ['frame_crc', 2],
      ['frame_parity', 1],
    ]);
    const symbols = [frameTlp(read, 0, '8b10b'), frameTlp(read, 1, '8b10b')];
    const damaged = changed(joinSymbols(symbols), 19, 0x5c);
    const { packets, errors } = decodeFramed(damaged, '8b10b');
    expect(errors).toEqual([
      { code: 'framing', byteOffset: 19, expected: 'END or EDB', got: 'control 5Ch' },
      { code: 'framing', byteOffset: 20, expected: 'END', got: 'control FBh' },
    ]);
    expect(packets).toMatchObject([{ layer: 'transaction', byteOffset: 20, sequence: 1 }]);
  });

  test('a nullified packet is dropped without an error, an EDB with a good CRC is one', () => {
    for (const line of families) {
      const { packets, errors } = decodeFramed(frameTlp(read, 9, line, true), line);
      expect(errors).toEqual([]);
      expect(packets).toMatchObject([{ nullified: true, sequence: 9 }]);
    }
    const { errors } = decodeFramed(changed(frameTlp(read, 9, '8b10b'), 19, 0xfe), '8b10b');
    expect(errors.map((e) => e.code)).toEqual(['lcrc']);
  });

  test('a cut stream', () => {
    for (const line of families) {
      const whole = frameTlp(read, 0, line);
      for (let kept = 1; kept < whole.bytes.length; kept += 1) {
        const cut = { bytes: whole.bytes.slice(0, kept), control: whole.control.slice(0, kept) };
        const { packets, errors } = decodeFramed(cut, line);
        expect([packets, errors.map((e) => e.code)]).toEqual([[], ['framing']]);
      }
    }
  });

  test('control characters that cannot be there are a mistake of the caller', () => {
    const { bytes } = frameTlp(read, 0, '8b10b');
    expect(() => decodeFramed({ bytes, control: new Uint8Array(1) }, '8b10b')).toThrow(RangeError);
    const marked = frameTlp(read, 0, '8b10b');
    expect(() => decodeFramed(marked, '128b130b')).toThrow(RangeError);
  });

  test('an EDS token is reported and passed over', () => {
    const stream = joinSymbols([endOfDataStream(), frameTlp(read, 0, '128b130b')]);
    expect(decodeFramed(stream, '128b130b')).toMatchObject({
      packets: [
        { layer: 'physical', token: 'EDS' },
        { layer: 'transaction', byteOffset: 4 },
      ],
      errors: [],
    });
  });
});
