import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Crc, crc16, crc32, createCrc } from '../../src/coding/index.ts';

function hex(text: string): Uint8Array {
  return Uint8Array.from(text.split(' '), (byte) => Number.parseInt(byte, 16));
}

/** The check as it goes on the wire, low byte first. */
function sent(crc: Crc, bytes: number, text: string): string {
  const value = crc(hex(text));
  return Array.from({ length: bytes }, (_, i) =>
    ((value >>> (8 * i)) & 0xff).toString(16).toUpperCase().padStart(2, '0'),
  ).join(' ');
}

const digits = Uint8Array.from('123456789', (c) => c.charCodeAt(0));

describe('published check values of the digits 1 to 9', () => {
  // IEEE 802.3 frame check sequence parameters, for which CBF43926h is the well-known check value.
  test('CRC-32 is CBF43926h', () => expect(crc32(digits)).toBe(0xcbf43926));

  // ITU-T V.41 polynomial with seed FFFFh and no reflection: 29B1h is its well-known check value.
  test('a CRC-16 with the most significant bit first is 29B1h', () => {
    const crc = createCrc({
      width: 16,
      polynomial: 0x1021,
      seed: 0xffff,
      reflected: false,
      complemented: false,
    });
    expect(crc(digits)).toBe(0x29b1);
  });

  // The same polynomial as CRC-32 taken most significant bit first: FC891918h is its check value.
  test('a CRC-32 with the most significant bit first is FC891918h', () => {
    const crc = createCrc({
      width: 32,
      polynomial: 0x04c11db7,
      seed: 0xffffffff,
      reflected: false,
      complemented: true,
    });
    expect(crc(digits)).toBe(0xfc891918);
  });
});

// Hand-derived in public test-fixture notes for PCI Express Base Specification 3.6.2.1 (sequence
// number 000h, 32-bit memory read of one double word) and 3.5.1 (InitFC1-P, Ack 0). The other
// three are worked here from the same rules, bit by bit, and hold the table against the rule.
describe('PCI Express checks as they are sent', () => {
  test('the link CRC of a memory read', () => {
    expect(sent(crc32, 4, '00 00 00 00 00 01 01 00 00 0F 00 00 10 00')).toBe('9A E8 F8 C2');
  });

  test.each([
    ['InitFC1-P', '40 08 03 F0', '35 BC'],
    ['Ack 000h', '00 00 00 00', 'B3 62'],
    ['Ack 001h', '00 00 00 01', '12 79'],
    ['Ack FFFh', '00 00 0F FF', '25 A8'],
    ['Nak 000h', '10 00 00 00', '58 05'],
  ])('the CRC of %s', (_name, content, expected) => {
    expect(sent(crc16, 2, content)).toBe(expected);
  });
});

describe('properties of the checks', () => {
  const bytes = fc.uint8Array({ minLength: 1, maxLength: 64 });

  // A polynomial of degree n with a constant term detects every burst of at most n bits.
  test.each([
    ['CRC-32', crc32, 32],
    ['CRC-16', crc16, 16],
  ] as const)('%s changes with every burst no longer than itself', (_name, crc, width) => {
    fc.assert(
      fc.property(
        bytes,
        fc.nat(),
        fc.integer({ min: 1, max: 2 ** width - 1 }),
        (sentBytes, where, burst) => {
          const got = Uint8Array.from(sentBytes);
          const start = where % (8 * got.length);
          for (let bit = 0; bit < width && start + bit < 8 * got.length; bit += 1) {
            const at = start + bit;
            got[at >> 3] = got[at >> 3]! ^ (((burst >>> bit) & 1) << (at & 7));
          }
          const changed = got.some((byte, i) => byte !== sentBytes[i]);
          expect(crc(got) !== crc(sentBytes)).toBe(changed);
        },
      ),
    );
  });

  test('a range of a buffer has the check of its copy', () => {
    fc.assert(
      fc.property(bytes, fc.nat(64), fc.nat(64), (all, a, b) => {
        const [from, to] = [Math.min(a, b, all.length), Math.min(Math.max(a, b), all.length)];
        expect(crc32(all, from, to)).toBe(crc32(all.slice(from, to)));
      }),
    );
  });

  test('a width that no table step can serve is refused', () => {
    const definition = { polynomial: 3, seed: 0, reflected: false, complemented: false };
    expect(() => createCrc({ ...definition, width: 7 })).toThrow(RangeError);
    expect(() => createCrc({ ...definition, width: 33 })).toThrow(RangeError);
  });
});
