/**
 * Cyclic redundancy checks, one byte per table step. The result is a number; which end of it is
 * sent first belongs to the caller's packet format.
 */

/** The parameters that tell one check from another. */
export interface CrcDefinition {
  /** Degree of the polynomial, 8 to 32. */
  readonly width: number;
  /** Polynomial without its leading term, highest power first. */
  readonly polynomial: number;
  /** Value of the register before the first bit. */
  readonly seed: number;
  /** True where bit 0 of each byte is taken first; the result is then reversed too. */
  readonly reflected: boolean;
  /** True where the result is complemented. */
  readonly complemented: boolean;
}

/** Check over `bytes` from `start` (inclusive) to `end` (exclusive), as an unsigned number. */
export type Crc = (bytes: Uint8Array, start?: number, end?: number) => number;

function reverseBits(value: number, width: number): number {
  let reversed = 0;
  for (let bit = 0; bit < width; bit += 1) reversed = (reversed << 1) | ((value >>> bit) & 1);
  return reversed >>> 0;
}

function reflectedTable(polynomial: number): Uint32Array {
  return Uint32Array.from({ length: 256 }, (_, byte) => {
    let register = byte;
    for (let bit = 0; bit < 8; bit += 1) {
      register = register & 1 ? (register >>> 1) ^ polynomial : register >>> 1;
    }
    return register;
  });
}

function forwardTable(polynomial: number): Uint32Array {
  // Registers are kept at the top of 32 bits, so one table serves every width.
  return Uint32Array.from({ length: 256 }, (_, byte) => {
    let register = byte << 24;
    for (let bit = 0; bit < 8; bit += 1) {
      register = register < 0 ? (register << 1) ^ polynomial : register << 1;
    }
    return register;
  });
}

/**
 * Makes the check that a definition describes.
 * @throws RangeError for a width outside 8 to 32.
 */
export function createCrc(definition: CrcDefinition): Crc {
  const { width, polynomial, seed, reflected, complemented } = definition;
  if (!Number.isInteger(width) || width < 8 || width > 32) {
    throw new RangeError(`width: expected an integer 8 to 32, got ${width}`);
  }
  const mask = 2 ** width - 1;
  const finish = (register: number) => ((complemented ? ~register : register) & mask) >>> 0;
  if (reflected) {
    const table = reflectedTable(reverseBits(polynomial, width));
    const first = reverseBits(seed, width);
    return (bytes, start = 0, end = bytes.length) => {
      let register = first;
      for (let at = start; at < end; at += 1) {
        register = (register >>> 8) ^ table[(register ^ bytes[at]!) & 0xff]!;
      }
      return finish(register);
    };
  }
  const spare = 32 - width;
  const table = forwardTable(polynomial << spare);
  return (bytes, start = 0, end = bytes.length) => {
    let register = seed << spare;
    for (let at = start; at < end; at += 1) {
      register = (register << 8) ^ table[(register >>> 24) ^ bytes[at]!]!;
    }
    return finish(register >>> spare);
  };
}

/**
 * CRC-32 of the link CRC and of the end-to-end CRC (PCI Express Base Specification 6.3, 3.6.2.1 and
 * 2.7.1): polynomial 04C11DB7h, seed FFFFFFFFh, bit 0 of byte 0 first, complemented. Sent low byte
 * first: table 3-8 maps result bit 31 to bit 0 of the first byte.
 */
export const crc32: Crc = createCrc({
  width: 32,
  polynomial: 0x04c11db7,
  seed: 0xffffffff,
  reflected: true,
  complemented: true,
});

/**
 * CRC-16 of data link layer packets (PCI Express Base Specification 6.3, 3.5.1): polynomial 100Bh,
 * seed FFFFh, bit 0 of byte 0 first, complemented. Sent low byte first.
 */
export const crc16: Crc = createCrc({
  width: 16,
  polynomial: 0x100b,
  seed: 0xffff,
  reflected: true,
  complemented: true,
});
