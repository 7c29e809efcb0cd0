/**
 * From what a case or part gives, or else from the table of defaults, to a parameter: a range of whole
 * numbers in the model's unit, worded for people, with its basis.
 */
import type { Effect } from '../links/fabric.ts';
import type { Rounding } from '../model/answer.ts';
import {
  ceil,
  compare,
  div,
  equal,
  floor,
  formatQuantity,
  formatSize,
  formatTime,
  mul,
  type Quantity,
  type Rational,
  rational,
  toDecimal,
  toNumber,
} from '../quantity/index.ts';
import {
  type DefaultContext,
  type DefaultId,
  type DefaultRow,
  defaultRows,
  type Range,
} from '../standards/defaults.ts';
import type { Given, GivenQuantity } from './given.ts';
import type { Parameters } from './parameters.ts';

/** Whose parameter it is and how it acts. */
export interface Role {
  /** `module`, `host`, `stream multibeam`: prefixes the identifier and the title. */
  readonly owner: string;
  readonly id: DefaultId;
  readonly effect: Effect;
  /** With an effect that depends: the values that are legal at all. */
  readonly legal?: readonly number[];
}

/** Collects parameters of one network; keeps the roundings of delays to ticks. */
export class ParameterReader {
  readonly roundings: Rounding[] = [];
  readonly #parameters: Parameters;
  readonly #context: DefaultContext;

  constructor(parameters: Parameters, context: DefaultContext) {
    this.#parameters = parameters;
    this.#context = context;
  }

  /** A time, as ticks of `tick` seconds, rounded up. Returns the parameter's index. */
  time(role: Role, given: GivenQuantity | undefined, tick: Rational): number {
    const row: DefaultRow = defaultRows[role.id];
    const seconds = given ? given.value : undefined;
    const standing = row.range(this.#context);
    const of = (part: 'low' | 'expected' | 'high') =>
      seconds ? seconds[part] : rational(BigInt(standing[part]), 1_000_000_000_000n);
    const range = {
      low: this.#ticks(role, of('low'), tick),
      expected: this.#ticks(role, of('expected'), tick),
      high: this.#ticks(role, of('high'), tick),
    };
    return this.#add(role, range, given, wordedTime(standing));
  }

  /** A size in bytes or a count; sizes must be whole. Returns the parameter's index. */
  whole(role: Role, given: GivenQuantity | undefined, limit?: Range): number {
    const row: DefaultRow = defaultRows[role.id];
    const standing = row.range(this.#context);
    const range = given ? wholeRange(given.value) : standing;
    const worded = row.unit === 'bytes' ? wordedSize(standing) : wordedCount(standing);
    return this.#add(role, limit ? clip(range, limit) : range, given, worded);
  }

  /** A yes or no as 1 or 0. */
  flag(role: Role, given: Given<boolean> | undefined): number {
    const row: DefaultRow = defaultRows[role.id];
    const bit = given ? Number(given.value) : undefined;
    const range =
      bit === undefined ? row.range(this.#context) : { low: bit, expected: bit, high: bit };
    const word = (value: number) => (value === 1 ? 'yes' : 'no');
    const worded =
      range.low === range.high ? word(range.low) : `not known, ${word(range.expected)} taken`;
    return this.#add(role, range, given, worded);
  }

  #ticks(role: Role, seconds: Rational, tick: Rational): number {
    const exact = div(seconds, tick);
    const ticks = Number(ceil(exact));
    if (!equal(exact, rational(ticks))) {
      const what = `${role.owner}: ${defaultRows[role.id].title}`;
      if (!this.roundings.some((r) => r.what === what && r.ticks === ticks)) {
        this.roundings.push({ what, seconds: toDecimal(seconds, 12), ticks });
      }
    }
    return ticks;
  }

  #add(role: Role, range: Range, given: Given<unknown> | undefined, worded: string): number {
    const row: DefaultRow = defaultRows[role.id];
    const reference = given ? given.reference : row.reference;
    const quantity = given?.value as Quantity | boolean | string | undefined;
    const text =
      quantity !== undefined && typeof quantity === 'object' && 'dimension' in quantity
        ? formatQuantity(quantity)
        : worded;
    return this.#parameters.add({
      id: `${role.owner}.${role.id}`,
      title: `${role.owner}: ${row.title}`,
      effect: role.effect,
      range,
      ...(role.legal ? { legal: role.legal.filter((v) => v >= range.low && v <= range.high) } : {}),
      text,
      basis: given ? given.basis : row.basis,
      ...(reference === undefined ? {} : { reference }),
      from: given ? given.from : 'default',
      ask: row.ask,
    });
  }
}

/** A size as bytes, or a bare count; ends that are not whole are brought inside the range. */
export function wholeRange(q: Quantity): Range {
  const scale = q.dimension === 'size' ? rational(1, 8) : rational(1);
  const low = Number(ceil(mul(q.low, scale)));
  const high = Math.max(low, Number(floor(mul(q.high, scale))));
  const middle = Math.round(toNumber(mul(q.expected, scale)));
  return { low, expected: Math.min(high, Math.max(low, middle)), high };
}

function clip(range: Range, limit: Range): Range {
  const into = (value: number) => Math.min(limit.high, Math.max(limit.low, value));
  return { low: into(range.low), expected: into(range.expected), high: into(range.high) };
}

function spread(range: Range, word: (value: number) => string): string {
  if (range.low === range.high) return word(range.low);
  return `${word(range.low)} to ${word(range.high)}, ${word(range.expected)} expected`;
}

const wordedTime = (range: Range) => spread(range, (ps) => formatTime(ps / 1e12));
const wordedSize = (range: Range) => spread(range, formatSize);
const wordedCount = (range: Range) => spread(range, String);

/** The smaller of two given quantities by their expected values; one may be absent. */
export function smaller(
  a: GivenQuantity | undefined,
  b: GivenQuantity | undefined,
): GivenQuantity | undefined {
  if (!a || !b) return a ?? b;
  return compare(b.value.expected, a.value.expected) < 0 ? b : a;
}
