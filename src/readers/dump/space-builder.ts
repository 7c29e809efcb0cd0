/** Puts the bytes of one function together, row by row in whatever order. */
import type { ByteRange } from './types.ts';
import { SPACE_BYTES_MAX } from './types.ts';

/** What became of a row. */
export type RowOutcome = 'new' | 'same' | 'differs';

/** Collects rows of bytes; reusable by way of `clear`. */
export class SpaceBuilder {
  readonly #bytes = new Uint8Array(SPACE_BYTES_MAX);
  /** Bytes known without a gap from 0; all that is kept until rows come out of order. */
  #next = 0;
  /** One per byte, 1 for known; absent while rows came in order. */
  #mask: Uint8Array | undefined;

  clear(): void {
    this.#bytes.fill(0, 0, this.#mask === undefined ? this.#next : SPACE_BYTES_MAX);
    this.#next = 0;
    this.#mask = undefined;
  }

  get empty(): boolean {
    return this.#next === 0 && this.#mask === undefined;
  }

  /** Adds `count` bytes of `row`, negative ones unknown. What is known already is not changed. */
  add(offset: number, row: Int16Array, count: number, holes: boolean): RowOutcome {
    if (this.#mask === undefined && offset === this.#next && !holes) {
      for (let i = 0; i < count; i += 1) this.#bytes[offset + i] = row[i]!;
      this.#next = offset + count;
      return 'new';
    }
    return this.#addMasked(offset, row, count);
  }

  #addMasked(offset: number, row: Int16Array, count: number): RowOutcome {
    if (this.#mask === undefined) {
      this.#mask = new Uint8Array(SPACE_BYTES_MAX);
      this.#mask.fill(1, 0, this.#next);
    }
    let outcome: RowOutcome = 'same';
    for (let i = 0; i < count; i += 1) {
      const value = row[i]!;
      if (value < 0) continue;
      const at = offset + i;
      if (this.#mask[at] === 1) {
        if (this.#bytes[at] !== value) return 'differs';
      } else {
        this.#mask[at] = 1;
        this.#bytes[at] = value;
        outcome = 'new';
      }
    }
    return outcome;
  }

  /** What is known: bytes up to the last one, and the gaps in between. */
  take(): { bytes: Uint8Array; gaps: ByteRange[] } {
    const mask = this.#mask;
    if (mask === undefined) return { bytes: this.#bytes.slice(0, this.#next), gaps: [] };
    const length = mask.lastIndexOf(1) + 1;
    const gaps: ByteRange[] = [];
    for (let at = 0; at < length; ) {
      const from = mask.indexOf(0, at);
      if (from < 0 || from >= length) break;
      const to = mask.indexOf(1, from);
      gaps.push({ offset: from, length: to - from });
      at = to;
    }
    return { bytes: this.#bytes.slice(0, length), gaps };
  }
}
