import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decodeDllp, encodeDllp } from '../../src/links/pcie/codec-dllp.ts';
import { endOfDataStream, frameDllp, frameTlp } from '../../src/links/pcie/codec-framed.ts';
import { decodeTlp, encodeTlp } from '../../src/links/pcie/codec-tlp.ts';
import { creditTypes } from '../../src/links/pcie/dllp.ts';
import { messageCodes, messageRoutingLocal } from '../../src/links/pcie/tlp.ts';
import { dllpCase, tlpCase } from './pcie-packets-arbitraries.ts';

function hex(bytes: Uint8Array): string {
  return Array.from(bytes, (b) => b.toString(16).toUpperCase().padStart(2, '0')).join(' ');
}

// Hand-derived in public test-fixture notes for PCI Express Base Specification 3.6.2.1 and 3.5.1.
describe('published packets', () => {
  test('a memory read of one double word', () => {
    const values = {
      'Requester ID': 0x0100,
      'First DW BE': 0xf,
      Length: 1,
      'Address[31:2]': 0x400,
    };
    const tlp = encodeTlp({ kind: 'MRd', headerDw: 3, ecrc: false, values }, new Uint8Array());
    expect(hex(tlp)).toBe('00 00 00 01 01 00 00 0F 00 00 10 00');
    expect(hex(frameTlp(tlp, 0, '8b10b').bytes)).toBe(
      'FB 00 00 00 00 00 01 01 00 00 0F 00 00 10 00 9A E8 F8 C2 FD',
    );
    // The same link CRC, though the four reserved bits before the sequence number are not sent.
    expect(hex(frameTlp(tlp, 0, '128b130b').bytes.slice(4))).toBe(`${hex(tlp)} 9A E8 F8 C2`);
  });

  test.each([
    [
      'InitFC1-P, 32 headers and 1008 data credits',
      { kind: 'InitFC1', credit: 'P', values: { HdrFC: 32, DataFC: 1008 } },
      '40 08 03 F0 35 BC',
    ],
    ['Ack 000h', { kind: 'Ack', values: {} }, '00 00 00 00 B3 62'],
    ['Ack FFFh', { kind: 'Ack', values: { AckNak_Seq_Num: 0xfff } }, '00 00 0F FF 25 A8'],
    ['Nak 000h', { kind: 'Nak', values: {} }, '10 00 00 00 58 05'],
  ] as const)('%s', (_name, fields, expected) => {
    expect(hex(encodeDllp(fields))).toBe(expected);
  });

  // PCI Express Base Specification 6.3, 3.5.1: DLLP Type encodings, VC ID in bits 2 to 0.
  test.each([
    ['InitFC1', [0x43, 0x53, 0x63]],
    ['InitFC2', [0xc3, 0xd3, 0xe3]],
    ['UpdateFC', [0x83, 0x93, 0xa3]],
  ] as const)('%s types of virtual channel 3', (kind, types) => {
    const sent = creditTypes.map((credit) => encodeDllp({ kind, credit, values: { 'VC ID': 3 } }));
    expect(sent.map((bytes) => bytes[0])).toEqual(types);
  });

  // PCI Express Base Specification 6.3, figure 4-13: SDP and EDS tokens; 4.2.2.3.1: TLP Length of
  // a 3 DW header with 1 DW of data is 6, and 7 with a digest.
  test('tokens of 128b/130b', () => {
    const dllp = encodeDllp({ kind: 'Ack', values: {} });
    expect(hex(frameDllp(dllp, '128b130b').bytes.slice(0, 2))).toBe('F0 AC');
    expect(hex(endOfDataStream().bytes)).toBe('1F 80 90 00');
    for (const [ecrc, length] of [
      [false, 6],
      [true, 7],
    ] as const) {
      const tlp = encodeTlp({ kind: 'MWr', headerDw: 3, ecrc, values: {} }, new Uint8Array(4));
      const { bytes } = frameTlp(tlp, 0xabc, '128b130b');
      expect(((bytes[1]! & 0x7f) << 4) | (bytes[0]! >> 4)).toBe(length);
      expect(bytes.length).toBe(4 * length);
      expect([bytes[2]! & 0xf, bytes[3]]).toEqual([0xa, 0xbc]);
    }
  });

  // PCI Express Base Specification 6.3, 2.2.8.1: Assert_INTA 0010 0000b, routing 100b, 4 DW.
  test('an interrupt message', () => {
    const values = {
      'Type[2:0]': messageRoutingLocal,
      'Requester ID': 0x0300,
      'Message Code': messageCodes.Assert_INTA,
    };
    const fields = { kind: 'Msg', headerDw: 4, ecrc: false, values } as const;
    expect(hex(encodeTlp(fields, new Uint8Array()))).toBe(
      '34 00 00 00 03 00 00 20 00 00 00 00 00 00 00 00',
    );
  });
});

describe('packets without framing', () => {
  test('a transaction layer packet comes back whole', () => {
    fc.assert(
      fc.property(tlpCase, ({ fields, payload }) => {
        const bytes = encodeTlp(fields, payload);
        const { packet, errors } = decodeTlp(bytes);
        expect(errors).toEqual([]);
        if (fields.kind === 'MsiWrite') {
          expect([packet?.kind, packet?.payload]).toEqual([
            'MWr',
            bytes.slice(-4 - (fields.ecrc ? 4 : 0)).slice(0, 4),
          ]);
        } else {
          expect([packet?.kind, packet?.payload]).toEqual([fields.kind, payload]);
          expect(packet?.values).toMatchObject(fields.values);
        }
        expect(encodeTlp(packet!, packet!.payload)).toEqual(bytes);
      }),
    );
  });

  test('a data link layer packet comes back whole', () => {
    fc.assert(
      fc.property(dllpCase, (fields) => {
        const { packet, errors } = decodeDllp(encodeDllp(fields));
        expect(errors).toEqual([]);
        expect(packet).toMatchObject(fields);
      }),
    );
  });

  // 2.7.1: bit 0 of Type and EP may change on the way; every other bit is covered.
  test('the end-to-end CRC covers all bits but the two that may change', () => {
    const fields = { kind: 'MWr', headerDw: 3, ecrc: true, values: {} } as const;
    const sent = encodeTlp(fields, Uint8Array.of(1, 2, 3, 4));
    const uncovered: string[] = [];
    for (let bit = 0; bit < 8 * 16; bit += 1) {
      const got = Uint8Array.from(sent);
      got[bit >> 3] = got[bit >> 3]! ^ (1 << (bit & 7));
      const { packet, errors } = decodeTlp(got);
      if (errors.length === 0 && packet) uncovered.push(`byte ${bit >> 3} bit ${bit & 7}`);
    }
    // Bit 0 of Type makes another packet type, one without a layout here.
    expect(uncovered).toEqual(['byte 2 bit 6']);
  });

  test('values that a packet cannot carry are refused', () => {
    const write = { kind: 'MWr', headerDw: 3, ecrc: false, values: {} } as const;
    const data = new Uint8Array(8);
    expect(() => encodeTlp(write, new Uint8Array(6))).toThrow(/steps of 4/);
    expect(() => encodeTlp({ ...write, values: { Length: 3 } }, data)).toThrow(/Length/);
    expect(() => encodeTlp({ ...write, values: { TD: 1 } }, data)).toThrow(/TD/);
    expect(() => encodeTlp({ ...write, values: { Fmt: 3 } }, data)).toThrow(/Fmt/);
    expect(() => encodeTlp({ ...write, values: { TC: 8 } }, data)).toThrow(/TC/);
    expect(() => encodeTlp({ ...write, values: { Colour: 1 } }, data)).toThrow(/Colour/);
    expect(() => encodeTlp({ ...write, values: { R: 0 } }, data)).toThrow(/R:/);
    expect(() => encodeDllp({ kind: 'UpdateFC', values: {} })).toThrow(/credit/);
    expect(() => encodeDllp({ kind: 'Ack', credit: 'P', values: {} })).toThrow(/credit/);
  });
});
