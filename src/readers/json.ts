/**
 * JSON tables, streamed. Either one row to a line (JSON Lines), or one document: a list of rows, or
 * an object with such a list under `rows`. A row is an object, or a list below a list of names.
 */
import { readJsonRow } from './json-row.ts';
import { LINE_LENGTH_MAX, type LineSink } from './lines.ts';
import type { At, Notes } from './notes.ts';
import type { RecordSink } from './record.ts';

/** Hands the rows of one JSON text to the sink. */
export class JsonRows {
  readonly #sink: RecordSink;
  readonly #notes: Notes;
  #named = false;

  constructor(sink: RecordSink, notes: Notes) {
    this.#sink = sink;
    this.#notes = notes;
  }

  /** One row; a wrong one is a problem and the next is read all the same. */
  row(text: string, begin: At): void {
    const row = readJsonRow(text, begin);
    if (!row.ok) {
      const { at, expected, got } = row;
      const next = 'write each row as one flat object, such as {"size": "4 KiB", "time": "9 us"}';
      this.#notes.problem('bad-json', at, { expected, got, next });
      return;
    }
    if (row.kind === 'list') {
      const texts = row.cells.map((c) => c.text);
      const record = { at: begin, texts, places: row.cells.map((c) => c.at) };
      if (this.#named) this.#sink.record(record);
      else this.#sink.names(record);
      this.#named = true;
      return;
    }
    const texts: string[] = [];
    const places: At[] = [];
    for (const { name = '', nameAt = begin, text: cell, at } of row.cells) {
      const index = this.#sink.column(name, nameAt);
      if (index === undefined) continue;
      while (texts.length < index) {
        texts.push('');
        places.push(begin);
      }
      texts[index] = cell;
      places[index] = at;
    }
    this.#sink.record({ at: begin, texts, places });
  }
}

/** One row to a line. */
export class JsonLinesReader implements LineSink {
  readonly #rows: JsonRows;
  readonly #sink: RecordSink;
  readonly #notes: Notes;

  constructor(sink: RecordSink, notes: Notes) {
    this.#rows = new JsonRows(sink, notes);
    this.#sink = sink;
    this.#notes = notes;
  }

  line(text: string, number: number): void {
    if (this.#sink.done || text.trim() === '') return;
    this.#rows.row(text, { line: number, column: 1 });
  }

  tooLong(number: number): void {
    tooLong(this.#notes, { line: number, column: LINE_LENGTH_MAX + 1 });
  }
}

function tooLong(notes: Notes, at: At): void {
  notes.problem('line-too-long', at, {
    expected: `a row of at most ${LINE_LENGTH_MAX} characters`,
    got: 'a longer one',
    next: 'check that this is a table of flat rows',
  });
}

type State = 'before' | 'wrapper' | 'rows' | 'after';

/** One document. Rows are cut out by counting brackets, so that only one is held at a time. */
export class JsonDocumentReader {
  readonly #rows: JsonRows;
  readonly #sink: RecordSink;
  readonly #notes: Notes;
  #state: State = 'before';
  #line = 1;
  #column = 1;
  /** Brackets open inside the row, or inside what is skipped beside `rows`. */
  #depth = 0;
  #inString = false;
  #escaped = false;
  #held = '';
  #heldAt: At = { line: 1, column: 1 };
  #dropping = false;
  /** Last text in quotes beside the rows: the name in front of a list. */
  #name = '';
  #comma = true;
  #wrapped = false;

  constructor(sink: RecordSink, notes: Notes) {
    this.#rows = new JsonRows(sink, notes);
    this.#sink = sink;
    this.#notes = notes;
  }

  push(text: string): void {
    for (let i = 0; i < text.length && !this.#sink.done; i += 1) {
      const char = text[i]!;
      this.#char(char);
      if (char === '\n') {
        this.#line += 1;
        this.#column = 1;
      } else {
        this.#column += 1;
      }
    }
  }

  end(): void {
    if (this.#state === 'after' || this.#sink.done) return;
    const at = this.#held === '' ? this.#here : this.#heldAt;
    this.#notes.problem('truncated', at, {
      expected: this.#state === 'rows' ? "the end of the row, and ']' behind the last" : 'rows',
      got: 'the end of the file',
      next: 'check that the file is whole; rows in front of this place were read',
    });
  }

  get #here(): At {
    return { line: this.#line, column: this.#column };
  }

  #char(char: string): void {
    if (this.#state === 'rows') this.#inRows(char);
    else if (this.#state === 'wrapper') this.#inWrapper(char);
    else if (!/[ \t\n]/.test(char)) this.#outside(char);
  }

  #outside(char: string): void {
    if (this.#state === 'before' && char === '[') this.#state = 'rows';
    else if (this.#state === 'before' && char === '{') {
      this.#state = 'wrapper';
      this.#wrapped = true;
    } else if (this.#state !== 'after' || this.#comma) {
      this.#complain(this.#state === 'after' ? 'the end of the file' : "'[' or '{'", char);
      this.#comma = false;
      this.#state = 'after';
    }
  }

  #complain(expected: string, char: string): void {
    this.#notes.problem('bad-json', this.#here, {
      expected,
      got: `'${char}'`,
      next: 'write a list of rows, or an object with such a list under "rows"',
    });
  }

  /** Follows quotes and brackets; true when the character stands outside of a text. */
  #plain(char: string): boolean {
    if (!this.#inString) {
      this.#inString = char === '"';
      return !this.#inString;
    }
    if (this.#escaped) this.#escaped = false;
    else if (char === '\\') this.#escaped = true;
    else if (char === '"') this.#inString = false;
    return false;
  }

  #inWrapper(char: string): void {
    const before = this.#inString;
    const plain = this.#plain(char);
    if (this.#depth === 0 && !plain) {
      if (!before) this.#name = '';
      else if (this.#inString && this.#name.length < 16) this.#name += char;
      return;
    }
    if (!plain) return;
    if (char === '[' && this.#depth === 0 && this.#name === 'rows') this.#state = 'rows';
    else if (char === '[' || char === '{') this.#depth += 1;
    else if (char === ']' || char === '}') {
      this.#depth -= 1;
      if (this.#depth < 0) {
        this.#complain('a list under "rows"', char);
        this.#comma = false;
        this.#state = 'after';
      }
    }
  }

  #inRows(char: string): void {
    if (this.#held === '' && !this.#dropping && this.#depth === 0 && !this.#inString) {
      if (/[ \t\n]/.test(char)) return;
      if (char === ',' && !this.#comma) {
        this.#comma = true;
        return;
      }
      if (char === ']') {
        this.#state = 'after';
        // Whatever follows the rows inside an object is not read.
        this.#comma = !this.#wrapped;
        return;
      }
      if ((char !== '{' && char !== '[') || !this.#comma) {
        if (this.#comma || /[{[]/.test(char)) this.#complain(this.#comma ? 'a row' : "','", char);
      }
      this.#comma = false;
      this.#heldAt = this.#here;
    }
    const plain = this.#plain(char);
    if (plain && (char === '{' || char === '[')) this.#depth += 1;
    if (this.#depth === 0) return;
    if (!this.#dropping) this.#held += char;
    if (this.#held.length > LINE_LENGTH_MAX) {
      tooLong(this.#notes, this.#heldAt);
      this.#held = '';
      this.#dropping = true;
    }
    if (!plain || (char !== '}' && char !== ']')) return;
    this.#depth -= 1;
    if (this.#depth > 0) return;
    if (!this.#dropping) this.#rows.row(this.#held, this.#heldAt);
    this.#held = '';
    this.#dropping = false;
  }
}
