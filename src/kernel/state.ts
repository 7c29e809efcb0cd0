/**
 * State as numbers: a checkpoint is one `Float64Array`. Every state a deterministic model has is
 * finite numbers; what is not (text, objects) has to be written as numbers by its owner.
 */

/** Collects state. */
export class StateWriter {
  private words = new Float64Array(256);
  private length = 0;

  /** Writes one finite number. @throws RangeError for NaN and infinities. */
  number(value: number): void {
    if (!Number.isFinite(value)) throw new RangeError(`state must be finite numbers, got ${value}`);
    this.reserve(1);
    // Negative zero compares equal to zero and must hash so.
    this.words[this.length++] = value + 0;
  }

  /** Writes every number of `values`, not their count. */
  numbers(values: ArrayLike<number>): void {
    this.reserve(values.length);
    for (let i = 0; i < values.length; i++) this.number(values[i]!);
  }

  /** What was written, copied. */
  done(): Float64Array {
    return this.words.slice(0, this.length);
  }

  private reserve(more: number): void {
    let places = this.words.length;
    while (places < this.length + more) places *= 2;
    if (places === this.words.length) return;
    const words = new Float64Array(places);
    words.set(this.words);
    this.words = words;
  }
}

/** Gives state back in the order it was written. */
export class StateReader {
  private readonly words: Float64Array;
  private at = 0;

  constructor(words: Float64Array) {
    this.words = words;
  }

  /** The next number. @throws RangeError past the end. */
  number(): number {
    const value = this.words[this.at++];
    if (value === undefined) throw new RangeError('checkpoint ends early: it is of another model');
    return value;
  }

  /** Fills `into` with the next numbers. @throws RangeError past the end. */
  numbers(into: Float64Array | Int32Array | Uint32Array | Uint16Array | Uint8Array): void {
    for (let i = 0; i < into.length; i++) into[i] = this.number();
  }

  /** @throws RangeError when something is left unread. */
  end(): void {
    if (this.at === this.words.length) return;
    throw new RangeError(
      `checkpoint has ${this.words.length} numbers, ${this.at} were read: it is of another model`,
    );
  }
}

/** State outside the kernel that takes part in checkpoints: a model's tables and counters. */
export interface Stateful {
  /** Writes all that decides the model's future. */
  save(to: StateWriter): void;
  /** Reads back exactly what `save` wrote. */
  load(from: StateReader): void;
  /** The clock and all pending events moved by `ticks`: move every stored time likewise. */
  shift?(ticks: number): void;
}
