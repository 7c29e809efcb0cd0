import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  controlCharacters,
  type Disparity,
  decodeSymbol,
  disparityAfter,
  encodeSymbol,
  isControlCharacter,
} from '../../src/coding/index.ts';

const disparities: readonly Disparity[] = [-1, 1];
const characters = [
  ...Array.from({ length: 256 }, (_, byte) => ({ byte, control: false })),
  ...controlCharacters.map((byte) => ({ byte, control: true })),
];

function bits(word: number): string {
  return word.toString(2).padStart(10, '0');
}

function word(byte: number, control: boolean, disparity: Disparity): string {
  return bits(encodeSymbol(byte, control, disparity).word);
}

function surplus(text: string): number {
  return [...text].reduce((sum, bit) => sum + (bit === '1' ? 1 : -1), 0);
}

describe('published words', () => {
  // IEEE 802.3, table 36-2; the same words in US Patent 4486739.
  test.each([
    ['K28.0', 0x1c, '0011110100', '1100001011'],
    ['K28.1', 0x3c, '0011111001', '1100000110'],
    ['K28.2', 0x5c, '0011110101', '1100001010'],
    ['K28.3', 0x7c, '0011110011', '1100001100'],
    ['K28.4', 0x9c, '0011110010', '1100001101'],
    ['K28.5', 0xbc, '0011111010', '1100000101'],
    ['K28.6', 0xdc, '0011110110', '1100001001'],
    ['K28.7', 0xfc, '0011111000', '1100000111'],
    ['K23.7', 0xf7, '1110101000', '0001010111'],
    ['K27.7', 0xfb, '1101101000', '0010010111'],
    ['K29.7', 0xfd, '1011101000', '0100010111'],
    ['K30.7', 0xfe, '0111101000', '1000010111'],
  ])('%s', (_name, byte, negative, positive) => {
    expect([word(byte, true, -1), word(byte, true, 1)]).toEqual([negative, positive]);
  });

  // IEEE 802.3, table 36-1 as quoted in a public test bench; balanced, unbalanced, x = 7, y = 3 and
  // both alternate sevens.
  test.each([
    ['D0.0', 0, 0, '1001110100', '0110001011'],
    ['D21.5', 21, 5, '1010101010', '1010101010'],
    ['D10.2', 10, 2, '0101010101', '0101010101'],
    ['D5.2', 5, 2, '1010010101', '1010010101'],
    ['D31.7', 31, 7, '1010110001', '0101001110'],
    ['D11.7', 11, 7, '1101001110', '1101001000'],
    ['D13.7', 13, 7, '1011001110', '1011001000'],
    ['D14.7', 14, 7, '0111001110', '0111001000'],
    ['D17.7', 17, 7, '1000110111', '1000110001'],
    ['D18.7', 18, 7, '0100110111', '0100110001'],
    ['D20.7', 20, 7, '0010110111', '0010110001'],
    ['D3.3', 3, 3, '1100011100', '1100010011'],
    ['D24.3', 24, 3, '1100110011', '0011001100'],
  ])('%s', (_name, x, y, negative, positive) => {
    const byte = (y << 5) | x;
    expect([word(byte, false, -1), word(byte, false, 1)]).toEqual([negative, positive]);
  });
});

// Properties of the code that IEEE 802.3, 36.2.4 and US Patent 4486739 state for it.
describe('the whole code', () => {
  test('268 characters make 464 different words', () => {
    const seen = new Set(
      characters.flatMap(({ byte, control }) =>
        disparities.map((disparity) => word(byte, control, disparity)),
      ),
    );
    expect([characters.length, seen.size]).toEqual([268, 464]);
  });

  test('a word is balanced, or two bits off towards the other disparity', () => {
    for (const { byte, control } of characters) {
      for (const disparity of disparities) {
        const encoded = encodeSymbol(byte, control, disparity);
        const off = surplus(bits(encoded.word));
        expect([0, -2 * disparity]).toContain(off);
        expect(encoded.disparity).toBe(off === 0 ? disparity : -disparity);
      }
    }
  });

  test('no two data words in a row hold a run over five bits, nor a comma', () => {
    let longest = 0;
    for (const first of disparities) {
      for (let a = 0; a < 256; a += 1) {
        const { word: left, disparity } = encodeSymbol(a, false, first);
        for (let b = 0; b < 256; b += 1) {
          const pair = bits(left) + bits(encodeSymbol(b, false, disparity).word);
          for (const run of pair.match(/0+|1+/g) ?? []) longest = Math.max(longest, run.length);
          if (/0011111|1100000/.test(pair)) throw new Error(`comma in D${a} D${b}: ${pair}`);
        }
      }
    }
    expect(longest).toBe(5);
  });

  test('a comma stands in K28.1, K28.5 and K28.7 and in no other character', () => {
    const withComma = characters.filter(({ byte, control }) =>
      disparities.every((d) => /0011111|1100000/.test(word(byte, control, d))),
    );
    expect(withComma).toEqual([0x3c, 0xbc, 0xfc].map((byte) => ({ byte, control: true })));
  });

  test('each disparity has 268 good words, 196 of the other column and 560 of neither', () => {
    for (const disparity of disparities) {
      const good = new Map(
        characters.map((c) => [encodeSymbol(c.byte, c.control, disparity).word, c]),
      );
      const other = new Set(
        characters.map((c) => encodeSymbol(c.byte, c.control, disparity === 1 ? -1 : 1).word),
      );
      const counts = { good: 0, disparity: 0, invalid: 0 };
      for (let code = 0; code < 1024; code += 1) {
        const decoded = decodeSymbol(code, disparity);
        counts[decoded.error ?? 'good'] += 1;
        expect(decoded.disparity).toBe(disparityAfter(code, disparity));
        if (decoded.error === 'invalid') {
          expect(good.has(code) || other.has(code)).toBe(false);
        } else if (decoded.error === 'disparity') {
          expect(!good.has(code) && other.has(code)).toBe(true);
        } else {
          expect({ byte: decoded.byte, control: decoded.control }).toEqual(good.get(code));
        }
      }
      expect(counts).toEqual({ good: 268, disparity: 196, invalid: 560 });
    }
  });
});

// IEEE 802.3, 36.2.4.4: a sub-block of 000111 or 0011 leaves the disparity positive, one of 111000
// or 1100 negative, whatever it was; only damaged streams show the difference.
test('a damaged stream takes its disparity from the shape of balanced halves', () => {
  for (const before of disparities) {
    expect(disparityAfter(0b0001110101, before)).toBe(1);
    expect(disparityAfter(0b1110000101, before)).toBe(-1);
    expect(disparityAfter(0b1010100011, before)).toBe(1);
    expect(disparityAfter(0b1010101100, before)).toBe(-1);
    expect(disparityAfter(0b1010100101, before)).toBe(before);
  }
});

const character = fc.constantFrom(...characters);
const disparity = fc.constantFrom<Disparity>(-1, 1);

test('a stream comes back whole, and its surplus never passes the running disparity', () => {
  fc.assert(
    fc.property(fc.array(character, { maxLength: 200 }), disparity, (stream, start) => {
      let sending = start;
      let receiving = start;
      let sum: number = start;
      for (const sentCharacter of stream) {
        const encoded = encodeSymbol(sentCharacter.byte, sentCharacter.control, sending);
        const decoded = decodeSymbol(encoded.word, receiving);
        expect(decoded).toEqual({ ...sentCharacter, disparity: encoded.disparity });
        sum += surplus(bits(encoded.word));
        expect(sum).toBe(encoded.disparity);
        sending = encoded.disparity;
        receiving = decoded.disparity;
      }
    }),
  );
});

// A single inverted bit always unbalances the stream, so it shows at once or at the next word that
// is not balanced (IEEE 802.3, 36.2.4.4).
test('one inverted bit is found no later than the next unbalanced word', () => {
  const d24 = { byte: 24, control: false };
  fc.assert(
    fc.property(character, disparity, fc.nat(9), (sentCharacter, start, bit) => {
      const first = encodeSymbol(sentCharacter.byte, sentCharacter.control, start);
      const damaged = decodeSymbol(first.word ^ (1 << bit), start);
      // D24.0 has opposite words in its two columns.
      const second = encodeSymbol(d24.byte, d24.control, first.disparity);
      const next = decodeSymbol(second.word, damaged.disparity);
      expect(damaged.error ?? next.error).toBeDefined();
    }),
  );
});

test('what is not a character or a word is refused', () => {
  expect(isControlCharacter(0xbc)).toBe(true);
  expect(isControlCharacter(0xbd)).toBe(false);
  expect(() => encodeSymbol(0xbd, true, -1)).toThrow(RangeError);
  expect(() => encodeSymbol(256, false, -1)).toThrow(RangeError);
  expect(() => decodeSymbol(1024, -1)).toThrow(RangeError);
});
