/** Bytes waiting to be read, whatever the size of the pieces they came in. */
export class ByteQueue {
  #bytes: Uint8Array = new Uint8Array(0);
  #view = new DataView(this.#bytes.buffer);
  #start = 0;
  #end = 0;
  /** True when the buffer is our own and may be written to. */
  #owned = false;

  /** Bytes waiting. */
  get length(): number {
    return this.#end - this.#start;
  }

  /** Adds a chunk. It is not written to, and not kept once `own` was called. */
  push(chunk: Uint8Array): void {
    const waiting = this.length;
    if (waiting === 0) {
      this.#use(chunk, chunk.length, false);
      return;
    }
    const needed = waiting + chunk.length;
    if (!this.#owned || this.#end + chunk.length > this.#bytes.length) {
      const fits = this.#owned && needed <= this.#bytes.length / 2;
      const next = fits ? this.#bytes : new Uint8Array(2 * needed);
      next.set(this.#bytes.subarray(this.#start, this.#end));
      this.#use(next, waiting, true);
    }
    this.#bytes.set(chunk, this.#end);
    this.#end += chunk.length;
  }

  /** Copies what is still waiting, so that the caller may use the memory of its chunk again. */
  own(): void {
    if (!this.#owned) this.#use(this.#bytes.slice(this.#start, this.#end), this.length, true);
  }

  /** Drops `count` bytes, all of which must be waiting. */
  drop(count: number): void {
    this.#start += count;
  }

  /** `count` bytes from `offset` behind the first; a view, valid until the next push. */
  bytes(offset: number, count: number): Uint8Array {
    return this.#bytes.subarray(this.#start + offset, this.#start + offset + count);
  }

  u16(offset: number, little: boolean): number {
    return this.#view.getUint16(this.#start + offset, little);
  }

  u32(offset: number, little: boolean): number {
    return this.#view.getUint32(this.#start + offset, little);
  }

  #use(bytes: Uint8Array, end: number, owned: boolean): void {
    this.#bytes = bytes;
    this.#view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.#start = 0;
    this.#end = end;
    this.#owned = owned;
  }
}
