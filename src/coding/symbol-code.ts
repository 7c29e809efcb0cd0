/**
 * The 8b/10b transmission code (IEEE 802.3, 36.2.4, tables 36-1 and 36-2; PCI Express Base
 * Specification 6.3, 4.2.1.1). Built from the 5b/6b and 3b/4b halves. A 10-bit word is a number
 * whose most significant bit is `a`, the first sent, and whose least significant is `j`.
 */

/** Running disparity: more zeros than ones so far (-1), or more ones (+1). */
export type Disparity = -1 | 1;

/** A word and the running disparity after it. */
export interface EncodedSymbol {
  readonly word: number;
  readonly disparity: Disparity;
}

/**
 * What a received word stands for. `invalid`: in neither column of the tables. `disparity`: in the
 * other column only, so an earlier or this word was damaged; the character is given all the same.
 */
export type DecodedSymbol =
  | {
      readonly byte: number;
      readonly control: boolean;
      readonly disparity: Disparity;
      readonly error?: 'disparity';
    }
  | { readonly disparity: Disparity; readonly error: 'invalid' };

/** abcdei for x = 0 to 31 at negative disparity, the D.x.y rows of table 36-1. */
const sixBits = [
  0b100111, 0b011101, 0b101101, 0b110001, 0b110101, 0b101001, 0b011001, 0b111000, 0b111001,
  0b100101, 0b010101, 0b110100, 0b001101, 0b101100, 0b011100, 0b010111, 0b011011, 0b100011,
  0b010011, 0b110010, 0b001011, 0b101010, 0b011010, 0b111010, 0b110011, 0b100110, 0b010110,
  0b110110, 0b001110, 0b101110, 0b011110, 0b101011,
] as const;

/** abcdei of K28.y at negative disparity; the other K codes share the data rows (table 36-2). */
const sixBitsOfK28 = 0b001111;

/** fghj for y = 0 to 7 at negative disparity, y = 7 in its primary form. */
const fourBits = [0b1011, 0b1001, 0b0101, 0b1100, 0b1101, 0b1010, 0b0110, 0b1110] as const;

/** The alternate fghj of y = 7 at negative disparity, which keeps runs at five bits. */
const alternateSeven = 0b0111;

/** x values whose D.x.7 takes the alternate form, by the disparity before fghj (table 36-1). */
const alternateAfter = { '-1': [17, 18, 20], '1': [11, 13, 14] } as const;

/** The control characters: K28.0 to K28.7, K23.7, K27.7, K29.7, K30.7 (table 36-2), as bytes. */
export const controlCharacters: readonly number[] = [
  0x1c, 0x3c, 0x5c, 0x7c, 0x9c, 0xbc, 0xdc, 0xfc, 0xf7, 0xfb, 0xfd, 0xfe,
];

function onesIn(bits: number): number {
  let ones = 0;
  for (let rest = bits; rest !== 0; rest &= rest - 1) ones += 1;
  return ones;
}

function complement(bits: number, width: number): number {
  return ~bits & ((1 << width) - 1);
}

/** A half at positive disparity: complemented when unbalanced, and for x = 7 and y = 3. */
function half(bits: number, width: 4 | 6, disparity: Disparity): number {
  const alternates = onesIn(bits) !== width / 2 || bits === 0b111000 || bits === 0b1100;
  return disparity === 1 && alternates ? complement(bits, width) : bits;
}

function disparityAfterHalf(bits: number, width: 4 | 6, before: Disparity): Disparity {
  const ones = onesIn(bits);
  if (ones > width / 2 || bits === (width === 6 ? 0b000111 : 0b0011)) return 1;
  if (ones < width / 2 || bits === (width === 6 ? 0b111000 : 0b1100)) return -1;
  return before;
}

/** Running disparity after any word, valid or not, by the rules of IEEE 802.3, 36.2.4.4. */
export function disparityAfter(word: number, before: Disparity): Disparity {
  return disparityAfterHalf(word & 0xf, 4, disparityAfterHalf(word >> 4, 6, before));
}

function dataWord(byte: number, disparity: Disparity): number {
  const x = byte & 0x1f;
  const y = byte >> 5;
  const six = half(sixBits[x]!, 6, disparity);
  const between = disparityAfterHalf(six, 6, disparity);
  const alternates: readonly number[] = alternateAfter[between];
  const four = y === 7 && alternates.includes(x) ? alternateSeven : fourBits[y]!;
  return (six << 4) | half(four, 4, between);
}

/** Every control word is the complement of its other column; y = 7 is always alternate. */
function controlWord(byte: number, disparity: Disparity): number {
  const x = byte & 0x1f;
  const y = byte >> 5;
  const six = x === 28 ? sixBitsOfK28 : sixBits[x]!;
  const word = (six << 4) | half(y === 7 ? alternateSeven : fourBits[y]!, 4, 1);
  return disparity === -1 ? word : complement(word, 10);
}

const controls = new Set(controlCharacters);

interface Meaning {
  readonly byte: number;
  readonly control: boolean;
  /** Columns that the word stands in. */
  readonly columns: readonly Disparity[];
}

const columns = [-1, 1] as const;

function characterIndex(byte: number, control: boolean): number {
  return byte | (control ? 0x100 : 0);
}

const words: Readonly<Record<Disparity, Uint16Array>> = {
  [-1]: new Uint16Array(0x200),
  1: new Uint16Array(0x200),
};
const meanings = new Map<number, Meaning>();

function enter(byte: number, control: boolean): void {
  for (const column of columns) {
    const word = (control ? controlWord : dataWord)(byte, column);
    words[column][characterIndex(byte, control)] = word;
    const earlier = meanings.get(word)?.columns ?? [];
    meanings.set(word, { byte, control, columns: [...earlier, column] });
  }
}

for (let byte = 0; byte < 256; byte += 1) enter(byte, false);
for (const byte of controlCharacters) enter(byte, true);

/** True for the twelve bytes that exist as control characters. */
export function isControlCharacter(byte: number): boolean {
  return controls.has(byte);
}

/**
 * Encodes one character.
 * @param byte 0 to 255.
 * @param control true for a control (K) character.
 * @throws RangeError for a byte out of range, or a control character that the code does not have.
 */
export function encodeSymbol(byte: number, control: boolean, disparity: Disparity): EncodedSymbol {
  if (!Number.isInteger(byte) || byte < 0 || byte > 255) {
    throw new RangeError(`byte: expected an integer 0 to 255, got ${byte}`);
  }
  if (control && !controls.has(byte)) {
    throw new RangeError(`byte: expected one of the 12 control characters, got ${byte}`);
  }
  const word = words[disparity][characterIndex(byte, control)]!;
  return { word, disparity: disparityAfter(word, disparity) };
}

/**
 * Decodes one word at the receiver's running disparity.
 * @param word 0 to 1023.
 * @throws RangeError for a word out of range; damage on the wire is a result, not an exception.
 */
export function decodeSymbol(word: number, disparity: Disparity): DecodedSymbol {
  if (!Number.isInteger(word) || word < 0 || word > 0x3ff) {
    throw new RangeError(`word: expected an integer 0 to 1023, got ${word}`);
  }
  const after = disparityAfter(word, disparity);
  const meaning = meanings.get(word);
  if (!meaning) return { disparity: after, error: 'invalid' };
  const { byte, control } = meaning;
  return meaning.columns.includes(disparity)
    ? { byte, control, disparity: after }
    : { byte, control, disparity: after, error: 'disparity' };
}
