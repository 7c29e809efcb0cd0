/** Bytes of a table to records: decodes, finds out the format, and hands over to its reader. */
import {
  DelimitedReader,
  type DelimiterName,
  delimiters,
  isBlank,
  isComment,
} from './delimited.ts';
import { JsonDocumentReader, JsonLinesReader } from './json.ts';
import { readJsonRow } from './json-row.ts';
import { LINE_LENGTH_MAX, LineAssembler } from './lines.ts';
import type { EvidenceMapping, TableFormat } from './mapping.ts';
import type { Notes } from './notes.ts';
import type { RecordSink } from './record.ts';
import type { ByteChunks } from './types.ts';
import { type TextPiece, Utf8Decoder } from './utf8.ts';

interface TextReader {
  push(text: string): void;
  end(): void;
}

/** How well a row of names fits: the number of columns that are understood. */
export type CountKnown = (names: readonly string[]) => number;

/** Reads `chunks` to the end, or until the sink is done. Never throws for what is in the bytes. */
export async function readTable(
  chunks: ByteChunks,
  mapping: EvidenceMapping,
  sink: RecordSink,
  notes: Notes,
  known: CountKnown,
): Promise<void> {
  const source = new TableSource(mapping, sink, notes, known);
  for await (const chunk of chunks) {
    source.push(chunk);
    if (source.done) break;
  }
  source.end();
}

class TableSource {
  readonly #decoder = new Utf8Decoder();
  readonly #mapping: EvidenceMapping;
  readonly #sink: RecordSink;
  readonly #notes: Notes;
  readonly #known: CountKnown;
  #reader: TextReader | undefined;
  #lines: LineAssembler | undefined;
  #waiting = '';
  #told = false;
  #stopped = false;

  constructor(mapping: EvidenceMapping, sink: RecordSink, notes: Notes, known: CountKnown) {
    this.#mapping = mapping;
    this.#sink = sink;
    this.#notes = notes;
    this.#known = known;
  }

  get done(): boolean {
    return this.#stopped || this.#sink.done;
  }

  push(chunk: Uint8Array): void {
    // Pieces of a bounded size: a caller may hand over a whole file at once.
    for (let at = 0; at < chunk.length && !this.done; at += PIECE_MAX) {
      this.#take(this.#decoder.decode(chunk.subarray(at, at + PIECE_MAX)));
    }
  }

  end(): void {
    if (!this.done) this.#take(this.#decoder.end());
    if (this.#stopped) return;
    if (this.#reader === undefined) this.#begin();
    this.#reader?.end();
  }

  #take(piece: TextPiece): void {
    if (piece.text.includes('\0')) this.#notText();
    if (this.#stopped) return;
    if (piece.bad !== undefined && !this.#told) this.#notUtf8(piece);
    if (this.#reader !== undefined) {
      this.#reader.push(piece.text);
      return;
    }
    this.#waiting += piece.text;
    if (this.#waiting.length > LINE_LENGTH_MAX || firstLine(this.#waiting)?.whole) this.#begin();
  }

  #notText(): void {
    this.#stopped = true;
    this.#notes.problem(
      'not-text',
      { line: 1, column: 1 },
      {
        expected: 'a table as text in UTF-8',
        got: 'bytes of 0, as in UTF-16 or a binary file',
        next: 'export the table as CSV in UTF-8',
      },
    );
  }

  #notUtf8({ text, bad }: TextPiece): void {
    this.#told = true;
    const waiting = this.#lines ?? new LineAssembler({ line() {}, tooLong() {} });
    if (this.#lines === undefined) waiting.push(this.#waiting);
    const at = waiting.locate(text, bad!);
    const hex = bad!.byte.toString(16).padStart(2, '0');
    this.#notes.problem('not-utf8', at, {
      expected: 'text in UTF-8',
      got: `byte 0x${hex} at byte offset ${bad!.offset}`,
      next: 'save the file as UTF-8; the character is read as unknown',
    });
  }

  #begin(): void {
    const first = firstLine(this.#waiting);
    if (first === undefined && this.#waiting.length <= LINE_LENGTH_MAX) {
      this.#notes.problem(
        'empty-evidence',
        { line: 1, column: 1 },
        {
          expected: 'a table',
          got: 'nothing but blanks and comments',
          next: 'check that this is the file you mean',
        },
      );
      this.#stopped = true;
      return;
    }
    this.#reader = this.#readerFor(first?.text ?? '');
    const text = this.#waiting;
    this.#waiting = '';
    this.#reader.push(text);
  }

  #readerFor(first: string): TextReader {
    const format = this.#mapping.format ?? formatOf(first);
    if (format === 'json') return new JsonDocumentReader(this.#sink, this.#notes);
    if (format === 'json lines') {
      const reader = new JsonLinesReader(this.#sink, this.#notes);
      this.#lines = new LineAssembler(reader);
      return this.#lines;
    }
    const name = this.#mapping.delimiter ?? this.#delimiterOf(first);
    const options = { delimiter: delimiters[name], header: this.#mapping.header ?? true };
    const reader = new DelimitedReader(options, this.#sink, this.#notes);
    const lines = new LineAssembler(reader);
    this.#lines = lines;
    return {
      push: (text) => lines.push(text),
      end: () => {
        lines.end();
        reader.end();
      },
    };
  }

  /** The delimiter under which most names are understood; tab before semicolon before comma. */
  #delimiterOf(first: string): DelimiterName {
    let best: DelimiterName = 'comma';
    let most = -1;
    for (const name of ['tab', 'semicolon', 'comma'] as const) {
      if (!first.includes(delimiters[name])) continue;
      const names = first.split(delimiters[name]).map((n) => n.trim().replace(/^"(.*)"$/, '$1'));
      const count = this.#known(names.slice(0, 256));
      if (count > most) {
        best = name;
        most = count;
      }
    }
    return best;
  }
}

const PIECE_MAX = 64 * 1024;

/** The first line with something to read in it; `whole` when its end is there. */
function firstLine(text: string): { text: string; whole: boolean } | undefined {
  let at = 0;
  while (at < text.length) {
    const end = text.indexOf('\n', at);
    const line = text.slice(at, end < 0 ? undefined : end);
    if (!isBlank(line) && !isComment(line)) return { text: line, whole: end >= 0 };
    if (end < 0) return undefined;
    at = end + 1;
  }
  return undefined;
}

/** `[` begins a document. An object that fills its line is a row; one that does not, a document. */
function formatOf(line: string): TableFormat {
  const start = line.trimStart();
  if (start.startsWith('[')) return startsLines(start) ? 'json lines' : 'json';
  if (!start.startsWith('{')) return 'delimited';
  return readJsonRow(line, { line: 1, column: 1 }).ok ? 'json lines' : brokenRow(start);
}

/** A list of texts that fills its line is a row of names. */
function startsLines(line: string): boolean {
  const row = readJsonRow(line, { line: 1, column: 1 });
  return row.ok && row.cells.length > 1;
}

/** A first row that is wrong in itself still ends on its line: `{"size": 4k}`. */
function brokenRow(line: string): TableFormat {
  const rows = /^\{\s*(?:"rows"|$)/.test(line) || /"rows"\s*:\s*(?:\[|$)/.test(line);
  return !rows && line.trimEnd().endsWith('}') ? 'json lines' : 'json';
}

/** What a file may be, by its first bytes. */
export type EvidenceKind = 'table' | 'capture' | 'waveform';

/**
 * Tells captures by their first four bytes and value change dumps by the declaration they begin with
 * (64 bytes suffice as a rule); anything else may be a table.
 */
export function evidenceKind(first: Uint8Array): EvidenceKind {
  const hex = [...first.subarray(0, 4)].map((b) => b.toString(16).padStart(2, '0')).join('');
  if (captureMarks.includes(hex)) return 'capture';
  const text = String.fromCharCode(...first.subarray(hex.startsWith('efbbbf') ? 3 : 0, 256));
  return declaration.test(text) ? 'waveform' : 'table';
}

/** How a value change dump begins (IEEE 1364-2005, 18.2.3: from memory). */
const declaration =
  /^\s*\$(?:comment|date|version|timescale|scope|var|attrbegin|enddefinitions)(?:\s|$)/;

/** Section header block of pcapng; classic captures of both byte orders and both resolutions. */
const captureMarks = ['0a0d0d0a', 'a1b2c3d4', 'd4c3b2a1', 'a1b23c4d', '4d3cb2a1'];
