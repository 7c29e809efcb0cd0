/**
 * Values of the followed variables. Each bit is two: `value` and `unknown`, in words of 32 from the
 * right. 0 is 0/0, 1 is 1/0, z is 0/1 and x is 1/1, as in the vector structure of the Verilog
 * procedural interface (IEEE 1364-2005, 27.14: from memory).
 */

/**
 * How one character of a value reads: bit 0 is the value, bit 1 that it is unknown, bit 2 that the
 * standard does not list the character. Negative for a character that is none.
 */
const bits = new Int8Array(256).fill(-1);
const ONE = 1;
const Z = 2;
const X = 3;
const REDUCED = 4;
for (const [characters, bit] of [
  ['0', 0],
  ['1', ONE],
  ['zZ', Z],
  ['xX', X],
  // Nine-valued logic as some writers dump it, reduced as To_X01Z of IEEE 1164 does.
  ['lL', REDUCED],
  ['hH', ONE | REDUCED],
  ['uUwW-', X | REDUCED],
] as const) {
  for (const c of characters) bits[c.charCodeAt(0)] = bit;
}

/** True of a character that may stand for a bit. */
export function isBit(byte: number): boolean {
  return bits[byte]! >= 0;
}

/** Most bits of a followed variable. */
export const WIDTH_MAX = 65_536;

export class VcdValues {
  /** First word of each slot, and behind the last. */
  readonly first: Int32Array;
  readonly width: Int32Array;
  readonly value: Uint32Array;
  readonly unknown: Uint32Array;
  /** Last value of each slot that is a real; not a number before the first. */
  readonly real: Float64Array;
  /** Last value of each slot that is a text. */
  readonly text: string[];
  /** Slot of each followed variable, in the order of `VcdWatch.variables`. */
  readonly slots: Int32Array;
  /** Slots written in this step, each once: the first `changedCount` of them. */
  readonly changed: Int32Array;
  changedCount = 0;
  /** True once a character of nine-valued logic was reduced to one of four. */
  reduced = false;
  readonly #marked: Uint8Array;

  /** @param widths bits of each slot; @param slots slot of each followed variable */
  constructor(widths: readonly number[], slots: readonly number[]) {
    const count = widths.length;
    this.first = new Int32Array(count + 1);
    this.width = Int32Array.from(widths);
    for (let s = 0; s < count; s++) this.first[s + 1] = this.first[s]! + wordsOf(widths[s]!);
    this.value = new Uint32Array(this.first[count]!).fill(0xffff_ffff);
    this.unknown = new Uint32Array(this.first[count]!).fill(0xffff_ffff);
    for (let s = 0; s < count; s++) this.#trim(s);
    this.real = new Float64Array(count).fill(Number.NaN);
    this.text = new Array<string>(count).fill('');
    this.slots = Int32Array.from(slots);
    this.changed = new Int32Array(count);
    this.#marked = new Uint8Array(count);
  }

  /** One bit of a slot, counted from the right: 0, 1, 2 for z or 3 for x. */
  bit(slot: number, place: number): number {
    const word = this.first[slot]! + (place >>> 5);
    const value = (this.value[word]! >>> (place & 31)) & 1;
    const unknown = (this.unknown[word]! >>> (place & 31)) & 1;
    return unknown === 0 ? value : value === 0 ? Z : X;
  }

  /** Forgets what was written in this step. */
  settle(): void {
    for (let i = 0; i < this.changedCount; i++) this.#marked[this.changed[i]!] = 0;
    this.changedCount = 0;
  }

  /** Sets all bits of a slot from one character. @returns false when it is none */
  setBit(slot: number, byte: number): boolean {
    const read = bits[byte]!;
    if (read < 0) return false;
    if (read >= REDUCED) this.reduced = true;
    const bit = read & 3;
    if (this.width[slot] === 1) {
      const word = this.first[slot]!;
      this.value[word] = bit & 1;
      this.unknown[word] = bit >>> 1;
    } else this.#fill(slot, bit);
    this.#mark(slot);
    return true;
  }

  /**
   * Sets a slot from the characters in `bytes[from, to)`, the rightmost bit last. A shorter value is
   * extended on the left: by 0 where its leftmost is 0 or 1, else by that (18.2.1, table of rules).
   * @returns false when a character is no bit or the value is longer than the slot
   */
  setVector(slot: number, bytes: Uint8Array, from: number, to: number): boolean {
    const given = to - from;
    if (given === 0 || given > this.width[slot]!) return false;
    const first = this.first[slot]!;
    let word = first;
    let value = 0;
    let unknown = 0;
    let place = 0;
    let all = 0;
    for (let i = to - 1; i >= from; i--) {
      const bit = bits[bytes[i]!]!;
      all |= bit;
      // z is 2, x is 3: the lower bit is the value, the upper says that it is unknown.
      value |= (bit & 1) << place;
      unknown |= ((bit >>> 1) & 1) << place;
      if (++place === 32) {
        this.value[word] = value;
        this.unknown[word] = unknown;
        word += 1;
        value = 0;
        unknown = 0;
        place = 0;
      }
    }
    if (place > 0) {
      this.value[word] = value;
      this.unknown[word] = unknown;
    }
    this.#mark(slot);
    if (all < 0) {
      this.forget(slot);
      return false;
    }
    if ((all & REDUCED) !== 0) this.reduced = true;
    if (given < this.width[slot]!) this.#extend(slot, given, bits[bytes[from]!]! & 3);
    return true;
  }

  setReal(slot: number, value: number): void {
    this.real[slot] = value;
    this.#mark(slot);
  }

  setText(slot: number, text: string): void {
    this.text[slot] = text;
    this.#mark(slot);
  }

  /** Makes every bit x, and a real no number: what was written cannot be used. */
  forget(slot: number): void {
    this.value.fill(0xffff_ffff, this.first[slot]!, this.first[slot + 1]!);
    this.unknown.fill(0xffff_ffff, this.first[slot]!, this.first[slot + 1]!);
    this.#trim(slot);
    this.real[slot] = Number.NaN;
    this.#mark(slot);
  }

  #fill(slot: number, bit: number): void {
    const first = this.first[slot]!;
    this.value[first] = bit & 1;
    this.unknown[first] = bit >>> 1;
    this.#extend(slot, 1, bit);
  }

  /** Sets the bits from `from` on as the leftmost bit of a shorter value, `bit`, asks for. */
  #extend(slot: number, from: number, bit: number): void {
    const first = this.first[slot]!;
    const end = this.first[slot + 1]!;
    const word = first + (from >>> 5);
    if (word >= end) return;
    const value = bit === X ? 0xffff_ffff : 0;
    const unknown = bit >= Z ? 0xffff_ffff : 0;
    const kept = (from & 31) === 0 ? 0 : 0xffff_ffff >>> (32 - (from & 31));
    this.value[word] = (this.value[word]! & kept) | (value & ~kept);
    this.unknown[word] = (this.unknown[word]! & kept) | (unknown & ~kept);
    this.value.fill(value, word + 1, end);
    this.unknown.fill(unknown, word + 1, end);
    this.#trim(slot);
  }

  /** Clears the bits of the last word that the slot does not have. */
  #trim(slot: number): void {
    const rest = this.width[slot]! & 31;
    const last = this.first[slot + 1]! - 1;
    if (rest === 0 || last < this.first[slot]!) return;
    this.value[last]! &= 0xffff_ffff >>> (32 - rest);
    this.unknown[last]! &= 0xffff_ffff >>> (32 - rest);
  }

  #mark(slot: number): void {
    if (this.#marked[slot] === 1) return;
    this.#marked[slot] = 1;
    this.changed[this.changedCount++] = slot;
  }
}

function wordsOf(width: number): number {
  return (width + 31) >>> 5;
}
