/**
 * Lines to records of cells: RFC 4180, with tab or semicolon as delimiter too, blank lines and
 * comments (a line that begins with #) left out, and line breaks allowed in quoted cells.
 */
import { LINE_LENGTH_MAX, type LineSink } from './lines.ts';
import { type Notes, quoted } from './notes.ts';
import type { RecordSink, TableRecord } from './record.ts';

/** Delimiters by the name a mapping gives them. */
export const delimiters = { comma: ',', tab: '\t', semicolon: ';' } as const;
export type DelimiterName = keyof typeof delimiters;

/** Most lines that one row with quoted cells is spread over. */
const RECORD_LINES_MAX = 64;

/** How a delimited text is read. */
export interface DelimitedOptions {
  readonly delimiter: string;
  /** False when the first row is data already. */
  readonly header: boolean;
}

type Split =
  | { readonly kind: 'record'; readonly record: TableRecord }
  | { readonly kind: 'open' }
  | { readonly kind: 'bad'; readonly column: number; readonly got: string };

/** Makes records of lines. */
export class DelimitedReader implements LineSink {
  readonly #options: DelimitedOptions;
  readonly #sink: RecordSink;
  readonly #notes: Notes;
  #named: boolean;
  /** Lines of a record whose quoted cell is still open. */
  #held: string[] = [];
  #heldLength = 0;
  #heldFrom = 0;

  constructor(options: DelimitedOptions, sink: RecordSink, notes: Notes) {
    this.#options = options;
    this.#sink = sink;
    this.#notes = notes;
    this.#named = !options.header;
  }

  line(text: string, number: number): void {
    if (this.#sink.done) return;
    if (this.#held.length > 0) {
      this.#continued(text);
      return;
    }
    if (isBlank(text) || isComment(text)) return;
    if (!text.includes('"')) {
      const { delimiter } = this.#options;
      const texts = text.split(delimiter);
      for (let i = 0; i < texts.length; i += 1) texts[i] = texts[i]!.trim();
      this.#give({ at: { line: number, column: 1 }, texts, line: text, delimiter });
      return;
    }
    const split = splitQuoted([text], number, this.#options.delimiter);
    if (split.kind === 'open') {
      this.#held = [text];
      this.#heldLength = text.length;
      this.#heldFrom = number;
    } else {
      this.#take(split, number);
    }
  }

  tooLong(number: number): void {
    this.end();
    this.#notes.problem(
      'line-too-long',
      { line: number, column: LINE_LENGTH_MAX + 1 },
      {
        expected: `a line of at most ${LINE_LENGTH_MAX} characters`,
        got: 'a longer one',
        next: 'check that this is a table, one row to a line',
      },
    );
  }

  end(): void {
    while (this.#held.length > 0) this.#abandon();
  }

  #continued(text: string): void {
    this.#heldLength += text.length + 1;
    if (this.#heldLength > LINE_LENGTH_MAX || this.#held.length >= RECORD_LINES_MAX) {
      const number = this.#heldFrom + this.#held.length;
      this.#abandon();
      this.line(text, number);
      return;
    }
    this.#held.push(text);
    if (!text.includes('"')) return;
    const split = splitQuoted(this.#held, this.#heldFrom, this.#options.delimiter);
    if (split.kind === 'open') return;
    const from = this.#heldFrom;
    const lines = this.#held;
    this.#held = [];
    this.#take(split, from);
    if (split.kind === 'bad') this.#again(lines, from);
  }

  /** A quote that never closes spoils its own line only: the lines behind it are read afresh. */
  #abandon(): void {
    const lines = this.#held;
    const from = this.#heldFrom;
    this.#held = [];
    const column = lines[0]!.lastIndexOf('"') + 1;
    this.#take({ kind: 'bad', column, got: 'a quote that is never closed' }, from);
    this.#again(lines, from);
  }

  #again(lines: readonly string[], from: number): void {
    for (let i = 1; i < lines.length; i += 1) {
      const text = lines[i]!;
      const number = from + i;
      // Only the last may be held again: what opens before it was seen not to close well.
      const last = i === lines.length - 1;
      if (!last && splitQuoted([text], number, this.#options.delimiter).kind === 'open') {
        const column = text.lastIndexOf('"') + 1;
        this.#take({ kind: 'bad', column, got: 'a quote that is never closed' }, number);
      } else {
        this.line(text, number);
      }
    }
  }

  #take(split: Exclude<Split, { kind: 'open' }>, line: number): void {
    if (split.kind === 'record') {
      this.#give(split.record);
      return;
    }
    this.#notes.problem(
      'bad-quotes',
      { line, column: split.column },
      {
        expected: 'a quoted cell, closed before the next delimiter',
        got: split.got,
        next: 'write a quote inside a quoted cell twice: ""',
      },
    );
  }

  #give(record: TableRecord): void {
    if (this.#named) {
      this.#sink.record(record);
    } else {
      this.#named = true;
      this.#sink.names(record);
    }
  }
}

/** True for a line without anything in it. */
export function isBlank(text: string): boolean {
  return text.trim() === '';
}

/** True for a line whose first character that is no blank is #. */
export function isComment(text: string): boolean {
  return /^[ \t]*#/.test(text);
}

const blank = /[ \t\u00a0]*/y;
const toQuote = /[^"]*/y;

/** Splits lines in which cells may be quoted; `open` when the last quote is not closed. */
function splitQuoted(lines: readonly string[], from: number, delimiter: string): Split {
  const texts: string[] = [];
  const places: { line: number; column: number }[] = [];
  let row = 0;
  let at = 0;
  const blanks = delimiter === '\t' ? /[ \u00a0]*/y : blank;
  const take = (pattern: RegExp): string => {
    pattern.lastIndex = at;
    const found = pattern.exec(lines[row]!)?.[0] ?? '';
    at += found.length;
    return found;
  };
  for (;;) {
    take(blanks);
    places.push({ line: from + row, column: at + 1 });
    const line = lines[row]!;
    if (line[at] !== '"') {
      const stop = line.indexOf(delimiter, at);
      texts.push(line.slice(at, stop < 0 ? undefined : stop).trim());
      if (stop < 0) break;
      at = stop + 1;
      continue;
    }
    at += 1;
    let text = '';
    for (;;) {
      text += take(toQuote);
      if (at >= lines[row]!.length) {
        row += 1;
        if (row >= lines.length) return { kind: 'open' };
        at = 0;
        text += '\n';
      } else if (lines[row]![at + 1] === '"') {
        text += '"';
        at += 2;
      } else {
        at += 1;
        break;
      }
    }
    texts.push(text.trim());
    take(blanks);
    if (at >= lines[row]!.length) break;
    if (lines[row]![at] !== delimiter) {
      const got = `${quoted(lines[row]!.slice(at, at + 20))} behind the closing quote`;
      return { kind: 'bad', column: row === 0 ? at + 1 : 1, got };
    }
    at += 1;
  }
  return { kind: 'record', record: { at: { line: from, column: 1 }, texts, places } };
}
