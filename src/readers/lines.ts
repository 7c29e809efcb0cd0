/** Text pieces to lines of bounded length. */
import type { BadByte } from './utf8.ts';

/** Longest line, UTF-16 units. A table row is far below; memory stays bounded by it. */
export const LINE_LENGTH_MAX = 64 * 1024;

/** Takes the lines of a file; numbers count from 1. */
export interface LineSink {
  line(text: string, number: number): void;
  /** A line longer than `LINE_LENGTH_MAX`; its text is dropped. */
  tooLong(number: number): void;
}

/** Cuts text into lines and hands each to the sink at once. */
export class LineAssembler {
  readonly #sink: LineSink;
  #rest = '';
  #number = 1;
  #dropping = false;

  constructor(sink: LineSink) {
    this.#sink = sink;
  }

  push(text: string): void {
    let at = 0;
    for (;;) {
      const end = text.indexOf('\n', at);
      if (end < 0) break;
      this.#finish(text.slice(at, end));
      at = end + 1;
    }
    this.#keep(text.slice(at));
  }

  end(): void {
    if (this.#rest !== '' || this.#dropping) this.#finish('');
  }

  /** Line and column of a place in the piece that is about to be pushed. */
  locate(text: string, bad: BadByte): { line: number; column: number } {
    const before = text.slice(0, bad.index);
    const last = before.lastIndexOf('\n');
    if (last < 0) return { line: this.#number, column: this.#rest.length + before.length + 1 };
    const breaks = before.split('\n').length - 1;
    return { line: this.#number + breaks, column: before.length - last };
  }

  #keep(text: string): void {
    if (this.#dropping || text === '') return;
    if (this.#rest.length + text.length > LINE_LENGTH_MAX) {
      this.#dropping = true;
      this.#rest = '';
    } else {
      this.#rest += text;
    }
  }

  #finish(text: string): void {
    const number = this.#number;
    this.#number += 1;
    const long = this.#dropping || this.#rest.length + text.length > LINE_LENGTH_MAX;
    const line = long ? '' : this.#rest + text;
    this.#rest = '';
    this.#dropping = false;
    if (long) this.#sink.tooLong(number);
    else this.#sink.line(line, number);
  }
}
