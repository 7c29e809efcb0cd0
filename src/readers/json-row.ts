/**
 * One JSON value of a table as cells: an object of names and scalars, or a list of scalars. The
 * text of a number is kept, so that 0.1 stays 1/10. RFC 8259, read strictly.
 */
import type { At } from './notes.ts';

/** A scalar and its place; `name` is absent in a list. */
export interface JsonCell {
  readonly name?: string;
  readonly nameAt?: At;
  /** Number as written, text of a string, `true`, `false`; empty for null. */
  readonly text: string;
  readonly at: At;
}

/** What a value was, or the first thing wrong with it. */
export type JsonRow =
  | { readonly ok: true; readonly kind: 'object' | 'list'; readonly cells: readonly JsonCell[] }
  | { readonly ok: false; readonly at: At; readonly expected: string; readonly got: string };

/** Most members of one row. */
const CELLS_MAX = 256;

class Fault extends Error {
  readonly at: number;
  readonly expected: string;
  constructor(at: number, expected: string) {
    super(expected);
    this.at = at;
    this.expected = expected;
  }
}

interface Cursor {
  readonly text: string;
  readonly begin: At;
  at: number;
}

/** Reads one value; `begin` is the place of the first character of `text`. Never throws. */
export function readJsonRow(text: string, begin: At): JsonRow {
  const cursor: Cursor = { text, begin, at: 0 };
  try {
    space(cursor);
    const kind = text[cursor.at] === '[' ? 'list' : 'object';
    const cells = members(cursor, kind);
    space(cursor);
    if (cursor.at < text.length) throw new Fault(cursor.at, 'the end of the row');
    return { ok: true, kind, cells };
  } catch (thrown) {
    if (!(thrown instanceof Fault)) throw thrown;
    const rest = text.slice(thrown.at, thrown.at + 20).split('\n')[0]!;
    const got = rest === '' ? 'the end of the text' : `'${rest}'`;
    return { ok: false, at: placeAt(cursor, thrown.at), expected: thrown.expected, got };
  }
}

function placeAt({ text, begin }: Cursor, index: number): At {
  const before = text.slice(0, index);
  const last = before.lastIndexOf('\n');
  if (last < 0) return { line: begin.line, column: begin.column + index };
  return { line: begin.line + before.split('\n').length - 1, column: index - last };
}

function take(cursor: Cursor, pattern: RegExp): string {
  pattern.lastIndex = cursor.at;
  const found = pattern.exec(cursor.text)?.[0] ?? '';
  cursor.at += found.length;
  return found;
}

const blanks = /[ \t\n\r]*/y;
const numeral = /-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?/y;
const word = /true|false|null/y;
const plainRun = /(?:[^"\\\p{Cc}]|[\u007f-\u009f])*/uy;
const scalar = 'a text in quotes, a number, true, false or null';

function space(cursor: Cursor): void {
  take(cursor, blanks);
}

function expectChar(cursor: Cursor, char: string, expected: string): void {
  if (cursor.text[cursor.at] !== char) throw new Fault(cursor.at, expected);
  cursor.at += 1;
}

function members(cursor: Cursor, kind: 'object' | 'list'): readonly JsonCell[] {
  const [open, close] = kind === 'object' ? ['{', '}'] : ['[', ']'];
  expectChar(cursor, open!, 'an object { } or a list [ ]');
  const cells: JsonCell[] = [];
  const names = new Set<string>();
  space(cursor);
  if (cursor.text[cursor.at] === close) {
    cursor.at += 1;
    return cells;
  }
  for (;;) {
    space(cursor);
    if (cells.length >= CELLS_MAX) throw new Fault(cursor.at, `at most ${CELLS_MAX} values`);
    cells.push(kind === 'list' ? element(cursor) : member(cursor, names));
    space(cursor);
    if (cursor.text[cursor.at] === close) {
      cursor.at += 1;
      return cells;
    }
    expectChar(cursor, ',', `',' or '${close}'`);
  }
}

function element(cursor: Cursor): JsonCell {
  const at = placeAt(cursor, cursor.at);
  return { text: value(cursor), at };
}

function member(cursor: Cursor, names: Set<string>): JsonCell {
  const from = cursor.at;
  const nameAt = placeAt(cursor, from);
  if (cursor.text[from] !== '"') throw new Fault(from, 'a name in quotes');
  const name = string(cursor);
  if (names.has(name)) throw new Fault(from, 'a name once in a row');
  names.add(name);
  space(cursor);
  expectChar(cursor, ':', "':'");
  space(cursor);
  return { name, nameAt, ...element(cursor) };
}

function value(cursor: Cursor): string {
  if (cursor.text[cursor.at] === '"') return string(cursor);
  const found = take(cursor, numeral) || take(cursor, word);
  if (found === '') throw new Fault(cursor.at, scalar);
  return found === 'null' ? '' : found;
}

const escapes: Readonly<Record<string, string>> = {
  '"': '"',
  '\\': '\\',
  '/': '/',
  b: '\b',
  f: '\f',
  n: '\n',
  r: '\r',
  t: '\t',
};

function string(cursor: Cursor): string {
  cursor.at += 1;
  let text = '';
  for (;;) {
    text += take(cursor, plainRun);
    const char = cursor.text[cursor.at];
    if (char === '"') {
      cursor.at += 1;
      return text.trim();
    }
    if (char !== '\\') throw new Fault(cursor.at, "the closing '\"'");
    const code = cursor.text[cursor.at + 1] ?? '';
    const hex = code === 'u' ? cursor.text.slice(cursor.at + 2, cursor.at + 6) : '';
    if (code === 'u' && /^[0-9a-fA-F]{4}$/.test(hex)) {
      text += String.fromCharCode(Number.parseInt(hex, 16));
      cursor.at += 6;
    } else if (Object.hasOwn(escapes, code)) {
      text += escapes[code];
      cursor.at += 2;
    } else {
      throw new Fault(cursor.at, 'an escape of JSON, such as \\n or \\u00b5');
    }
  }
}
