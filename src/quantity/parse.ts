/**
 * Text to quantity. Accepted: a number, an optional space, a unit with its prefix; a range
 * `600..770 MB/s` or `600..700..770 MB/s` (low, expected, high); a tolerance `64 ns ± 8 ns`,
 * `64 ± 8 ns`, `64 ns ± 10 %`, with `+/-` for ±. A term without a unit takes that of the next.
 * The expected value of a two-term range is its exact midpoint. Where a unit means several things
 * (`K`, `degC`, `Hz`) the first wanted one is taken; a bare number from 0 to 1 will do as fraction.
 */
import { toDecimal } from './decimal.ts';
import { type Dimension, dimensions } from './dimension.ts';
import { QuantityError, type QuantityProblem, quoted } from './problem.ts';
import { exactQuantity, type Quantity, rangeQuantity } from './quantity.ts';
import {
  abs,
  add,
  compare,
  div,
  mul,
  one,
  type Rational,
  rational,
  sub,
  zero,
} from './rational.ts';
import { Refusal, scanTerms, type Term, type Terms } from './scan.ts';
import { adviceFor, mixUpAdvice, nearestSpellings, nounOf, unitNounOf } from './spelling.ts';
import { spellings, toBase, type UnitMeaning, unitOf } from './units.ts';

/** A quantity, or what is wrong with the text; branch on `ok`. */
export type Parsed =
  | { readonly ok: true; readonly quantity: Quantity }
  | { readonly ok: false; readonly problem: QuantityProblem };

/**
 * Reads `text` as a quantity of one of the `wanted` dimensions (any when absent). Never throws:
 * a text that cannot be read comes back as a problem with its column and what to do next.
 */
export function parseQuantity(text: string, wanted?: Dimension | readonly Dimension[]): Parsed {
  const list = wanted === undefined || typeof wanted !== 'string' ? wanted : [wanted];
  try {
    return { ok: true, quantity: read(text, list) };
  } catch (thrown) {
    if (thrown instanceof Refusal) return { ok: false, problem: thrown.problem };
    throw thrown;
  }
}

/** As `parseQuantity`, for texts that must be right. @throws QuantityError with the problem. */
export function quantity(text: string, wanted?: Dimension | readonly Dimension[]): Quantity {
  const parsed = parseQuantity(text, wanted);
  if (!parsed.ok) throw new QuantityError(text, parsed.problem);
  return parsed.quantity;
}

type Wanted = readonly Dimension[] | undefined;

function read(text: string, wanted: Wanted): Quantity {
  const scanned = scanTerms(text);
  return scanned.join === '±'
    ? readTolerance(scanned, wanted, text)
    : readRange(scanned, wanted, text);
}

function readRange({ terms }: Terms, wanted: Wanted, text: string): Quantity {
  const shared = shareUnits(terms);
  const dimension = commonDimension(shared, wanted);
  const values = shared.map((term) => baseValue(term, dimension));
  const low = values[0]!;
  const high = values.at(-1)!;
  if (values.length === 1) return exactQuantity(dimension, low, text);
  const expected = values.length === 3 ? values[1]! : div(add(low, high), rational(2));
  if (compare(low, expected) > 0 || compare(expected, high) > 0) {
    const written = shared.map((t) => t.number).join('..');
    const order = values.length === 3 ? 'low..expected..high' : 'low..high';
    throw new Refusal(
      terms[0]!.column,
      `a range that rises, ${order}`,
      quoted(text.trim()),
      compare(low, high) > 0 && values.length === 2
        ? 'swap the two ends'
        : `put ${written} in rising order`,
    );
  }
  return rangeQuantity(dimension, { low, expected, high }, text);
}

/** Fills in missing units from the right: in `600..770 MB/s` both are MB/s. */
function shareUnits(terms: readonly Term[]): readonly Term[] {
  return terms.map((term, i) => {
    const unit = term.unit || (terms.slice(i + 1).find((later) => later.unit !== '')?.unit ?? '');
    return { ...term, unit };
  });
}

/** The first wanted dimension that every term can be. */
function commonDimension(terms: readonly Term[], wanted: Wanted): Dimension {
  let open: Wanted = wanted;
  for (const term of terms) {
    const meanings = meaningsOf(term, open ?? wanted);
    const found = meanings.map((m) => m.dimension);
    const fitting = open === undefined ? found : open.filter((d) => found.includes(d));
    if (fitting.length === 0) throw otherDimension(term, open!, found[0]!);
    open = fitting;
  }
  return open![0]!;
}

function meaningsOf(term: Term, wanted: Wanted): readonly UnitMeaning[] {
  const meanings = spellings.get(term.unit);
  if (meanings !== undefined) return meanings;
  const near = nearestSpellings(term.unit, wanted);
  throw new Refusal(
    term.unitColumn,
    unitNounOf(wanted),
    quoted(term.unit),
    near === '' ? adviceFor(wanted) : `write ${near}`,
  );
}

function otherDimension(term: Term, wanted: readonly Dimension[], found: Dimension): Refusal {
  if (term.unit === '') {
    return new Refusal(
      term.unitColumn,
      unitNounOf(wanted),
      `${term.number} without a unit`,
      adviceFor(wanted),
    );
  }
  return new Refusal(
    term.unitColumn,
    nounOf(wanted),
    `${quoted(term.unit)}, a unit of ${found}`,
    mixUpAdvice(wanted, found),
  );
}

/** The term's value in base units, checked against the lowest the dimension allows. */
function baseValue(term: Term, dimension: Dimension): Rational {
  const value = toBase(term.value, unitOf(term.unit, dimension)!);
  refuseTooLow(value, dimension, term.column, `${term.number} ${term.unit}`.trim());
  if (dimension === 'fraction' && term.unit === '' && compare(value, one) > 0) {
    throw new Refusal(
      term.unitColumn,
      '% after a fraction above 1',
      `${term.number} without a unit`,
      `write ${term.number} %, or ${toDecimal(mul(value, rational(100)), 12)} % if that is meant`,
    );
  }
  return value;
}

function refuseTooLow(
  value: Rational,
  dimension: Dimension,
  column: number,
  got: string,
  next?: string,
): void {
  const { noun, signed } = dimensions[dimension];
  const absolute = dimension === 'temperature';
  if ((signed && !absolute) || compare(value, zero) >= 0) return;
  const advice = absolute ? '0 K is -273.15 degC; check the sign and the unit' : 'check the sign';
  throw new Refusal(
    column,
    absolute ? 'a temperature of 0 K or above' : `${noun} of 0 or above`,
    got,
    next ?? advice,
  );
}

function readTolerance({ terms, joinColumn }: Terms, wanted: Wanted, text: string): Quantity {
  const [centre, tolerance] = terms as readonly [Term, Term];
  // In `64 ± 10 %` the 64 is a percentage only where a fraction may stand.
  const percent = tolerance.unit === '%' && centre.unit !== '%';
  const relative =
    percent && (centre.unit !== '' || (wanted !== undefined && !wanted.includes('fraction')));
  const valued = { ...centre, unit: centre.unit || (relative ? '' : tolerance.unit) };
  const dimension = commonDimension([valued], wanted);
  const expected = baseValue(valued, dimension);
  const margin = relative
    ? relativeMargin(tolerance, expected, dimension)
    : marginOf(tolerance, dimension);
  if (compare(margin, zero) < 0) {
    throw new Refusal(
      tolerance.column,
      'a tolerance of 0 or above',
      tolerance.number,
      'drop the sign',
    );
  }
  const low = sub(expected, margin);
  const fault = 'a tolerance larger than the value';
  refuseTooLow(low, dimension, joinColumn, fault, 'write a range that begins at the lowest value');
  return rangeQuantity(dimension, { low, expected, high: add(expected, margin) }, text);
}

function relativeMargin(tolerance: Term, expected: Rational, dimension: Dimension): Rational {
  if (dimension === 'temperature') {
    throw new Refusal(
      tolerance.unitColumn,
      'a tolerance in K or degC',
      quoted('%'),
      'a share of an absolute temperature hangs on its zero; write, for example, ± 3 K',
    );
  }
  return mul(abs(expected), div(tolerance.value, rational(100)));
}

/** A tolerance in units; that of an absolute temperature is a difference. */
function marginOf(tolerance: Term, dimension: Dimension): Rational {
  const as: Dimension = dimension === 'temperature' ? 'temperature difference' : dimension;
  commonDimension([tolerance], [as]);
  return toBase(tolerance.value, unitOf(tolerance.unit, as)!);
}
