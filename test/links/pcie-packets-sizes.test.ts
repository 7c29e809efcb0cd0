import { describe, expect, test } from 'vitest';
import { dllpKinds } from '../../src/links/pcie/dllp.ts';
import { bitLength } from '../../src/links/pcie/fields.ts';
import { frameCrc, frameParity, type LineFamily } from '../../src/links/pcie/framing.ts';
import {
  edsBytes,
  hasPayload,
  overheadBytes,
  type PacketKind,
  wireBytes,
  wireLayout,
} from '../../src/links/pcie/sizes.ts';
import { tlpKinds } from '../../src/links/pcie/tlp.ts';

const families: readonly LineFamily[] = ['8b10b', '128b130b'];
const kinds: readonly PacketKind[] = [...tlpKinds, ...dllpKinds];

function total(bytes: Readonly<Record<string, number>>): number {
  return Object.values(bytes).reduce((sum, n) => sum + n, 0);
}

describe.each(families)('packet sizes, %s', (family) => {
  // Intel AN 855 (ID 683504), sections 1.1.2 and 1.1.3: 5 DW around a payload with a 3 DW header,
  // 6 DW with a 4 DW header. 28 bytes is the TLPOverhead constant of the Ack latency formula.
  test('a memory write spends 20, 24 and, with end-to-end CRC, 28 bytes around its payload', () => {
    expect(overheadBytes('MWr', { headerDw: 3, ecrc: false, family })).toEqual({
      headers: 12,
      framing: 8,
    });
    expect(overheadBytes('MWr', { headerDw: 4, ecrc: false, family })).toEqual({
      headers: 16,
      framing: 8,
    });
    expect(overheadBytes('MWr', { headerDw: 4, ecrc: true, family })).toEqual({
      headers: 16,
      framing: 12,
    });
  });

  // Intel AN 855, section 1.1.3: a 512 B read answered in two 256 B completions costs 512 + 40 B.
  test('two completions of 256 bytes take 552 bytes whatever header the requests have', () => {
    for (const headerDw of [3, 4] as const) {
      const options = { headerDw, ecrc: false, family, payloadBytes: 256 };
      expect(2 * wireBytes('CplD', options)).toBe(512 + 40);
    }
  });

  test('a read request is charged whole to requests', () => {
    expect(overheadBytes('MRd', { headerDw: 3, ecrc: false, family })).toEqual({ requests: 20 });
    expect(overheadBytes('MRd', { headerDw: 4, ecrc: true, family })).toEqual({ requests: 28 });
  });

  // PCI Express Base Specification 6.3, 3.5.1 and 4.2.2.3.1: SDP, 4 bytes of content, 16-bit CRC;
  // at 2.5 and 5 GT/s SDP and END are one symbol each.
  test('every data link layer packet takes 8 bytes', () => {
    for (const kind of dllpKinds) {
      expect(wireBytes(kind, { headerDw: 3, ecrc: true, family, payloadBytes: 0 })).toBe(8);
    }
    const options = { headerDw: 3, ecrc: false, family } as const;
    expect(overheadBytes('Ack', options)).toEqual({ acknowledgements: 8 });
    expect(overheadBytes('UpdateFC', options)).toEqual({ credit_updates: 8 });
  });

  // Derived from 2.2.8.1 (4 DW message without data) and 6.1.4 (1 DW memory write).
  test('an interrupt takes 24 bytes a message, or 24 or 28 bytes as a memory write', () => {
    const options = { headerDw: 3, ecrc: false, family } as const;
    expect(overheadBytes('Msg', options)).toEqual({ descriptors: 24 });
    expect(overheadBytes('MsiWrite', options)).toEqual({ descriptors: 24 });
    expect(overheadBytes('MsiWrite', { ...options, headerDw: 4 })).toEqual({ descriptors: 28 });
  });

  test.each(kinds)('%s: accounts, layout and wire bytes agree', (kind) => {
    for (const headerDw of [3, 4] as const) {
      for (const ecrc of [false, true]) {
        const options = { headerDw, ecrc, family };
        const payloadBytes = hasPayload(kind) ? 64 : 0;
        const bytes = total(overheadBytes(kind, options));
        expect(bytes * 8).toBe(bitLength(wireLayout(kind, options)));
        expect(wireBytes(kind, { ...options, payloadBytes })).toBe(bytes + payloadBytes);
      }
    }
  });

  // The account list of this project: what each account is for decides who is charged.
  test('a packet without payload is charged whole to one account', () => {
    const options = { headerDw: 3, ecrc: true, family } as const;
    const charged = kinds
      .filter((kind) => !hasPayload(kind))
      .map((kind) => [kind, Object.keys(overheadBytes(kind, options)).join()]);
    expect(Object.fromEntries(charged)).toEqual({
      MRd: 'requests',
      Cpl: 'descriptors',
      Msg: 'descriptors',
      MsiWrite: 'descriptors',
      Ack: 'acknowledgements',
      Nak: 'acknowledgements',
      UpdateFC: 'credit_updates',
      InitFC1: 'credit_updates',
      InitFC2: 'credit_updates',
    });
  });

  test('payloads that a packet cannot carry are refused', () => {
    const options = { headerDw: 3, ecrc: false, family } as const;
    for (const payloadBytes of [0, 2, 4100, -4, 4.5]) {
      expect(() => wireBytes('MWr', { ...options, payloadBytes })).toThrow(RangeError);
    }
    expect(() => wireBytes('MRd', { ...options, payloadBytes: 4 })).toThrow(RangeError);
  });
});

// PCI Express Base Specification 6.3, 4.2.2.3.1, the whole of the checks published there.
describe('STP token checks', () => {
  test('the Frame CRC is the remainder of the reversed length by X^4 + X + 1', () => {
    for (let length = 0; length < 2048; length += 1) {
      let dividend = 0;
      for (let bit = 0; bit <= 10; bit += 1) dividend |= ((length >> bit) & 1) << (14 - bit);
      for (let power = 14; power >= 4; power -= 1) {
        if ((dividend >> power) & 1) dividend ^= 0b10011 << (power - 4);
      }
      expect([length, frameCrc(length)]).toEqual([length, dividend]);
    }
  });

  test('the Frame Parity reduces to seven bits of the length', () => {
    for (let length = 0; length < 2048; length += 1) {
      const reduced = [10, 9, 8, 6, 5, 2, 0].reduce((p, bit) => p ^ ((length >> bit) & 1), 0);
      expect([length, frameParity(length)]).toEqual([length, reduced]);
    }
  });

  test('the EDS token is an STP token of length 1: Frame CRC 1001b, Frame Parity 1', () => {
    expect(frameCrc(1)).toBe(0b1001);
    expect(frameParity(1)).toBe(1);
    expect(edsBytes).toBe(4);
  });
});
