/** Numbers of cells: the number, and the unit of the cell or else of its column. */
import { exactQuantity, fromDecimal, mul, parseQuantity } from '../quantity/index.ts';
import type { Ambiguities } from './ambiguities.ts';
import type { Column, KnownUnit } from './columns.ts';
import { type At, type Notes, quoted, type ReaderProblemCode } from './notes.ts';
import type { MeasuredValue } from './types.ts';
import { dimensionOf, readUnit, type UnitRole } from './units.ts';

/** Longest cell that can be a number with its unit. */
const CELL_LENGTH_MAX = 80;

const numeral =
  /^([+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,2})?)(?:[ \u00a0\u2009\u202f]*)(.*)$/s;
const comma = /^[+-]?[0-9]+,[0-9]+(?:[^0-9,.].*)?$/s;

/** A range or a tolerance, which only the quantities of a case may be. */
const several = /\.\.|±|\+\/-/;
/** A number and a word behind it, which is no exponent. */
const otherUnit = /^[+-]?[0-9.]+\s*(?![eE][+-]?[0-9])[\p{L}%°]/u;

/** Reads number cells of one file. */
export class CellReader {
  readonly #notes: Notes;
  readonly #ambiguities: Ambiguities;
  readonly #units = new Map<string, KnownUnit | undefined>();

  constructor(notes: Notes, ambiguities: Ambiguities) {
    this.#notes = notes;
    this.#ambiguities = ambiguities;
  }

  /** The value of a cell, or undefined when it has none, in which case a problem was reported. */
  value(text: string, at: At, column: Column, role: UnitRole): MeasuredValue | undefined {
    const match = text.length <= CELL_LENGTH_MAX ? numeral.exec(text) : null;
    if (match === null || /^[,._'][0-9]/.test(match[2]!)) return this.#refuse(text, at, role);
    const number = fromDecimal(match[1]!);
    if (number.n < 0n) return this.#belowZero(text, at, role);
    const own = match[2]!;
    const unit = own === '' ? column.unit : this.#ownUnit(own, text, at, column, role);
    if (unit === undefined) return undefined;
    const place = { file: this.#notes.file, line: at.line, column: at.column };
    const base = { text, place, number };
    if (unit.kind === 'exact')
      return withQuantity({ ...base, factor: unit.factor, open: [] }, role);
    const open = this.#open(unit, own || column.unitText, at, column, role);
    return open === undefined ? undefined : { ...base, open: [open] };
  }

  /** Number and unit in one cell. A unit that differs from the column's wins, and is told. */
  #ownUnit(
    own: string,
    text: string,
    at: At,
    column: Column,
    role: UnitRole,
  ): KnownUnit | undefined {
    const key = `${role} ${own}`;
    if (this.#units.has(key)) return this.#units.get(key);
    const reading = own.length > CELL_LENGTH_MAX ? undefined : readUnit(own, role);
    if (reading === undefined || reading.kind === 'unknown') {
      this.#refuse(text, at, role);
      return undefined;
    }
    if (this.#units.size < CACHE_MAX) this.#units.set(key, reading);
    if (column.unitText !== undefined && column.unitText !== own) {
      this.#notes.finding({
        id: 'evidence-cell-unit',
        level: 'caution',
        subject: `column ${quoted(column.name)}`,
        message: `line ${at.line}: the cell ${quoted(text)} has a unit of its own, which was used`,
        next: 'check that the cell means what it says',
      });
    }
    return reading;
  }

  #open(
    unit: Extract<KnownUnit, { kind: 'ambiguous' }>,
    written: string | undefined,
    at: At,
    column: Column,
    role: UnitRole,
  ): string | undefined {
    const id = `${role}: ${written === undefined ? 'no unit' : written.slice(0, 40)}`;
    const first = written === undefined || column.unitText === written ? column.at : at;
    const kept = this.#ambiguities.meet(id, () => ({
      kind: written === undefined ? 'no unit' : 'unit',
      at: first,
      choices: unit.choices,
      next: `give the unit in the mapping, such as units: {${role}: ${unit.choices[0]!.id}}`,
    }));
    return kept ? id : undefined;
  }

  #belowZero(text: string, at: At, role: UnitRole): undefined {
    this.#notes.problem('out-of-range', at, {
      expected: `a ${role} of 0 or above`,
      got: quoted(text),
      next: 'check the sign',
    });
  }

  #refuse(text: string, at: At, role: UnitRole): undefined {
    const shown = { got: quoted(text) };
    if (text === '') {
      this.#notes.problem('empty-cell', at, {
        expected: `a ${role}`,
        got: 'an empty cell',
        next: 'fill it in, or leave the row out',
      });
      return;
    }
    if (comma.test(text.slice(0, CELL_LENGTH_MAX))) {
      this.#notes.problem('decimal-comma', at, {
        expected: 'a decimal point',
        ...shown,
        next: `write ${text.slice(0, 30).replace(',', '.')}, or ${text.slice(0, 30).replace(',', '')} if digits are grouped`,
      });
      return;
    }
    const parsed = parseQuantity(text, dimensionOf[role]);
    if (parsed.ok || several.test(text)) {
      this.#notes.problem('bad-number', at, {
        expected: 'one number, with or without its unit',
        ...shown,
        next: 'write each measured value in a row of its own',
      });
      return;
    }
    const code: ReaderProblemCode = otherUnit.test(text) ? 'bad-unit' : 'bad-number';
    const { column, expected, got, next } = parsed.problem;
    const place = { line: at.line, column: at.column + column - 1 };
    this.#notes.problem(code, place, { expected, got, next });
  }
}

/** Most units of cells remembered. */
const CACHE_MAX = 64;

/** The value with its quantity, when nothing about it is open any more. */
export function withQuantity(value: MeasuredValue, role: UnitRole): MeasuredValue {
  const { text, number, factor, open } = value;
  if (factor === undefined || open.length > 0) return value;
  return { ...value, quantity: exactQuantity(dimensionOf[role], mul(number, factor), text) };
}
