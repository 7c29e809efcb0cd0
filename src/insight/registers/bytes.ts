/** Reads numbers from a configuration space, and knows which bytes it holds. */
import type { ConfigSpace } from '../../readers/dump/index.ts';

/** Little-endian reads; bytes that are not known read as 0. */
export class SpaceBytes {
  readonly #bytes: Uint8Array;
  readonly #gaps: ConfigSpace['gaps'];
  /** Bytes up to the last one known. */
  readonly length: number;

  constructor({ bytes, gaps }: ConfigSpace) {
    this.#bytes = bytes;
    this.#gaps = gaps;
    this.length = bytes.length;
  }

  /** True when all `count` bytes from `offset` are known. */
  has(offset: number, count: number): boolean {
    if (offset < 0 || offset + count > this.length) return false;
    if (this.#gaps.length === 0) return true;
    return this.#gaps.every((g) => offset + count <= g.offset || offset >= g.offset + g.length);
  }

  u8(offset: number): number {
    return this.#bytes[offset] ?? 0;
  }

  u16(offset: number): number {
    return this.u8(offset) | (this.u8(offset + 1) << 8);
  }

  u32(offset: number): number {
    return (this.u16(offset) | (this.u16(offset + 2) << 16)) >>> 0;
  }

  /** 1 to 4 bytes as an unsigned number. */
  read(offset: number, count: number): number {
    if (count === 4) return this.u32(offset);
    if (count === 2) return this.u16(offset);
    if (count === 1) return this.u8(offset);
    return this.u16(offset) | (this.u8(offset + 2) << 16);
  }

  /** True when every byte known, from `from` to `to`, is `value`. */
  all(value: number, from = 0, to = this.length): boolean {
    for (let i = from; i < to; i += 1) {
      if (this.#bytes[i] !== value && this.has(i, 1)) return false;
    }
    return true;
  }

  /** Two digits a byte, `??` for what is not known. */
  hex(offset: number, count: number): string {
    let text = '';
    for (let i = offset; i < offset + count; i += 1) {
      text += this.has(i, 1) ? this.u8(i).toString(16).padStart(2, '0') : '??';
    }
    return text;
  }
}
