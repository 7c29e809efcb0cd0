/** Splits the text of a quantity into terms and what joins them; knows no units. */
import { fromDecimal } from './decimal.ts';
import { type QuantityProblem, quoted } from './problem.ts';
import type { Rational } from './rational.ts';

/** Longest text read. No quantity written by a person comes near it. */
export const longestText = 200;
/** Largest power of ten read; the span of SI prefixes is 10^±30. */
const largestExponent = 99;

/** One number and the unit behind it; the unit is empty when none is written. */
export interface Term {
  readonly value: Rational;
  readonly column: number;
  readonly number: string;
  readonly unit: string;
  /** Where the unit is, or would be. */
  readonly unitColumn: number;
}

/** `..` joins the two or three terms of a range, `±` a value and its tolerance. */
export interface Terms {
  readonly terms: readonly Term[];
  readonly join: '' | '..' | '±';
  /** Column of the first `..` or `±`; 0 when there is none. */
  readonly joinColumn: number;
}

/** Carries a problem out of the scanner and the parser; caught before it leaves the module. */
export class Refusal extends Error {
  readonly problem: QuantityProblem;

  constructor(column: number, expected: string, got: string, next: string) {
    super(expected);
    this.problem = { column, expected, got, next };
  }
}

const blanks = /[ \t\u00a0\u2009\u202f]*/y; // thin and no-break spaces are usual before a unit
const numeral = /[+\-\u2212]?[0-9]+(?:\.[0-9]+)?(?:[eE][+\-\u2212]?[0-9]+)?/y;
const joiner = /\.\.|±|\+\/-/y;
/** Runs to whatever cannot be in a unit; the whole run is looked up, so typing slips stay whole. */
const unitRun = /(?:(?!\.\.|±|\+\/-)[^ \t\u00a0\u2009\u202f])*/y;
const word = /[^ \t\u00a0\u2009\u202f]*/y;

interface Cursor {
  readonly text: string;
  at: number;
}

function take(cursor: Cursor, pattern: RegExp): string {
  pattern.lastIndex = cursor.at;
  const found = pattern.exec(cursor.text)?.[0] ?? '';
  cursor.at += found.length;
  return found;
}

/** What stands at the cursor, without moving it. */
function peek(cursor: Cursor, pattern: RegExp): string {
  return take({ ...cursor }, pattern);
}

/** Splits `text`, or throws a Refusal. */
export function scanTerms(text: string): Terms {
  if (text.length > longestText) {
    throw new Refusal(
      longestText + 1,
      `at most ${longestText} characters`,
      `${text.length}`,
      'write one number and its unit',
    );
  }
  const cursor: Cursor = { text, at: 0 };
  take(cursor, blanks);
  const terms = [scanTerm(cursor)];
  let join: Terms['join'] = '';
  let joinColumn = 0;
  while (cursor.at < text.length) {
    const column = cursor.at + 1;
    const found = take(cursor, joiner);
    if (found === '') throw strayText(cursor, column);
    const kind = found === '..' ? '..' : '±';
    if (join === '') [join, joinColumn] = [kind, column];
    else refuseSecondJoin(join, kind, terms.length, column, found);
    take(cursor, blanks);
    terms.push(scanTerm(cursor));
  }
  return { terms, join, joinColumn };
}

function refuseSecondJoin(
  first: string,
  second: string,
  count: number,
  column: number,
  found: string,
): void {
  if (first === '..' && second === '..' && count < 3) return;
  throw new Refusal(
    column,
    'the end of the text',
    quoted(found),
    first === second && first === '..'
      ? 'a range is low..high or low..expected..high'
      : 'write either a range (600..770 MB/s) or one tolerance (64 ns ± 8 ns)',
  );
}

function scanTerm(cursor: Cursor): Term {
  const column = cursor.at + 1;
  const number = take(cursor, numeral);
  if (number === '') throw noNumber(cursor, column);
  refuseSeparators(cursor, number);
  const value = readNumber(number, column);
  const gap = take(cursor, blanks);
  refuseOtherJoins(cursor);
  const unitColumn = cursor.at + 1;
  const unit = take(cursor, unitRun);
  if (unit === '') return { value, column, number, unit, unitColumn: unitColumn - gap.length };
  take(cursor, blanks);
  return { value, column, number, unit, unitColumn };
}

function readNumber(number: string, column: number): Rational {
  const plain = number.replaceAll('\u2212', '-');
  const exponent = /[eE](.*)$/.exec(plain)?.[1] ?? '0';
  if (!/^[+-]?0*[0-9]{1,2}$/.test(exponent)) {
    throw new Refusal(
      column,
      `an exponent within ±${largestExponent}`,
      quoted(number),
      'write the value with a unit prefix',
    );
  }
  return fromDecimal(plain.replace(/[eE].*$/, `e${Number(exponent)}`));
}

/** 1,000 and 13 120 and 1_000 mean different things in different places: none is read. */
function refuseSeparators(cursor: Cursor, number: string): void {
  const separator = /(?:[,'_]|[ \u00a0\u2009\u202f])[0-9]/y;
  const found = peek(cursor, separator);
  if (found !== '') {
    const digits = number + peek(cursor, /(?:[,'_ \u00a0\u2009\u202f]?[0-9])+/y);
    const joined = digits.replace(/[^0-9.eE+-]/g, '');
    const comma = found.startsWith(',') ? ` or ${digits.replace(',', '.')}` : '';
    throw new Refusal(
      cursor.at + 1,
      'a unit',
      quoted(found.trim()),
      `write ${joined}${comma}, without digit separators`,
    );
  }
  const point = peek(cursor, /\.(?!\.)/y);
  if (point !== '') {
    throw new Refusal(
      cursor.at + 2,
      'a digit after the point',
      quoted(cursor.text.slice(cursor.at + 1, cursor.at + 2)),
      `write ${number}, or a range with two points`,
    );
  }
}

const dashOrTo = /(?:[-\u2010-\u2015\u2212]|to(?![^ ]))/y;

/** `600-770`, `600 to 770` and `1/3` are plain enough to people, but one spelling is enough. */
function refuseOtherJoins(cursor: Cursor): void {
  const join = peek(cursor, dashOrTo);
  const divided = peek(cursor, /\/[0-9]/y);
  if (join === '' && divided === '') return;
  throw new Refusal(
    cursor.at + 1,
    'a unit, ".." or "±"',
    quoted(join || divided.slice(0, 1)),
    join === ''
      ? 'write the value as a decimal number'
      : 'write a range with two points: 600..770 MB/s',
  );
}

function noNumber(cursor: Cursor, column: number): Refusal {
  const got = peek(cursor, word);
  let next = 'begin with a number, such as 600 MB/s';
  if (got.startsWith('.') && cursor.text[cursor.at - 1] === '.')
    next = 'write two points, not three';
  else if (/^\.[0-9]/.test(got)) next = `write 0${got}`;
  else if (/^x[0-9]+$/.test(got)) next = `write ${got.slice(1)} for a number; x is for lane widths`;
  else if (/^[<>≤≥~≈]/.test(got)) next = 'write a range, such as 600..770 MB/s';
  return new Refusal(column, 'a number', quoted(got), next);
}

function strayText(cursor: Cursor, column: number): Refusal {
  const got = peek(cursor, word);
  const dash = peek(cursor, dashOrTo) !== '';
  return new Refusal(
    column,
    'the end of the text, ".." or "±"',
    quoted(got),
    dash ? 'write a range with two points: 600..770 MB/s' : 'write one number and its unit',
  );
}
