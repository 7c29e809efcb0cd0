/**
 * Identifier codes of value changes (IEEE 1364-2005, 18.2.3.7: from memory): one or more printable
 * characters from `!` to `~`. Written as numbers in base 94 with digits 1 to 94, every code of up to
 * eight characters is a different whole number below 2^53; those of up to three are looked up in a
 * flat table.
 */

const FIRST = 33;
const LAST = 126;
const BASE = 94;
/** All codes of up to three characters lie below: 94 + 94² + 94³ + 1. */
const FLAT_MAX = 94 + 94 * 94 + 94 * 94 * 94 + 1;
/** Codes this long are still exact numbers. */
const NUMBER_LENGTH_MAX = 8;

export class CodeTable {
  #flat = new Int32Array(1024).fill(-1);
  readonly #numbers = new Map<number, number>();
  readonly #texts = new Map<string, number>();
  #count = 0;

  /** Different codes added. */
  get count(): number {
    return this.#count;
  }

  /** Index of the code in `bytes[from, to)`, new or known, from 0; -1 when it is no code. */
  add(bytes: Uint8Array, from: number, to: number): number {
    if (to <= from) return -1;
    for (let i = from; i < to; i++) if (bytes[i]! < FIRST || bytes[i]! > LAST) return -1;
    const known = this.find(bytes, from, to);
    if (known >= 0) return known;
    const index = this.#count;
    this.#count += 1;
    if (to - from > NUMBER_LENGTH_MAX) {
      this.#texts.set(textOf(bytes, from, to), index);
      return index;
    }
    const key = keyOf(bytes, from, to);
    if (key >= FLAT_MAX) this.#numbers.set(key, index);
    else {
      if (key >= this.#flat.length) this.#grow(key);
      this.#flat[key] = index;
    }
    return index;
  }

  /** Index of the code in `bytes[from, to)`; -1 when it was not declared. */
  find(bytes: Uint8Array, from: number, to: number): number {
    if (to - from > NUMBER_LENGTH_MAX) return this.#texts.get(textOf(bytes, from, to)) ?? -1;
    // A byte past `~` could make the number of another code.
    for (let i = from; i < to; i++) if (bytes[i]! > LAST) return -1;
    const key = keyOf(bytes, from, to);
    if (key >= FLAT_MAX) return this.#numbers.get(key) ?? -1;
    return key < this.#flat.length ? this.#flat[key]! : -1;
  }

  /** The codes of up to three characters by number, -1 where there is none; for a scanner's loop. */
  get flat(): Int32Array {
    return this.#flat;
  }

  #grow(key: number): void {
    let size = this.#flat.length;
    while (size <= key) size *= 2;
    const next = new Int32Array(Math.min(size, FLAT_MAX)).fill(-1);
    next.set(this.#flat);
    this.#flat = next;
  }
}

function keyOf(bytes: Uint8Array, from: number, to: number): number {
  let key = 0;
  for (let i = from; i < to; i++) key = key * BASE + (bytes[i]! - FIRST + 1);
  return key;
}

function textOf(bytes: Uint8Array, from: number, to: number): string {
  return String.fromCharCode(...bytes.subarray(from, to));
}
