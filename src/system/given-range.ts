/**
 * From what a case or part gives, or else from the table of defaults, to a parameter: a range of whole
 * numbers in the model's unit, worded for people, with its basis.
 */
import type { Effect } from '../links/fabric.ts';
import type { Rounding } from '../model/answer.ts';
import {
  ceil,
  compare,
  eachEnd,
  floor,
  formatQuantity,
  formatSize,
  formatTime,
  mul,
  one,
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
import type { ParameterEntry, Parameters } from './parameters.ts';

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

  /**
   * A time, as ticks of `tick` seconds, rounded up. Returns the parameter's index.
   * @param share part of a default that applies, 0 to 1; a given time applies whole
   */
  time(role: Role, given: GivenQuantity | undefined, tick: Rational, share = 1): number {
    if (given) {
      const range = eachEnd(given.value, (seconds) => this.#ticks(role, seconds, tick));
      return this.#add(role, range, given, () => formatQuantity(given.value), tick);
    }
    const standing = scaled(this.#standing(role), share);
    const ticks = (ps: number) => this.#ticks(role, { n: BigInt(ps), d: picoseconds }, tick);
    const low = ticks(standing.low);
    const expected = ticks(standing.expected);
    const range = { low, expected, high: ticks(standing.high) };
    const words = () => spread(standing, (ps) => formatTime(ps / 1e12));
    return this.#add(role, range, given, words, tick);
  }

  /**
   * A size in bytes or a count; sizes must be whole. What the path's limits cut is cut here.
   * Returns the parameter's index.
   */
  whole(role: Role, given: GivenQuantity | undefined, limit?: Range): number {
    const range = given ? wholeRange(given.value) : this.#standing(role);
    const used = limit ? clip(range, limit) : range;
    const cut = used.low !== range.low || used.high !== range.high;
    const word = defaultRows[role.id].unit === 'bytes' ? formatSize : String;
    const words =
      given && !cut
        ? () => formatQuantity(given.value)
        : () =>
            spread(used, word) + (given && cut ? `, cut from ${formatQuantity(given.value)}` : '');
    return this.#add(role, used, given, words);
  }

  /** A frequency in whole hertz or a data rate in whole bytes per second, rounded down. */
  perSecond(role: Role, given: GivenQuantity): number {
    const { value } = given;
    const unit = value.dimension === 'data rate' ? eighth : one;
    const range = eachEnd(value, (part) => Math.max(1, Number(floor(mul(part, unit)))));
    return this.#add(role, range, given, () => formatQuantity(value));
  }

  /** A fraction as a whole number of parts in `whole`, rounded outwards. */
  parts(role: Role, given: GivenQuantity, whole: bigint): number {
    const { value } = given;
    const scaled = (part: Rational) => mul(part, rational(whole));
    const low = Number(floor(scaled(value.low)));
    const high = Number(ceil(scaled(value.high)));
    const expected = Number(ceil(scaled(value.expected)));
    return this.#add(role, { low, expected, high }, given, () => formatQuantity(value));
  }

  /** A yes or no as 1 or 0. */
  flag(role: Role, given: Given<boolean> | undefined): number {
    const bit = given ? Number(given.value) : undefined;
    const range = bit === undefined ? this.#standing(role) : { low: bit, expected: bit, high: bit };
    const word = (value: number) => (value === 1 ? 'yes' : 'no');
    const words = () =>
      range.low === range.high ? word(range.low) : `not known, ${word(range.expected)} taken`;
    return this.#add(role, range, given, words);
  }

  #standing(role: Role): Range {
    const row: DefaultRow = defaultRows[role.id];
    return row.range(this.#context);
  }

  /** @param seconds a fraction, not necessarily in lowest terms */
  #ticks(role: Role, seconds: Rational, tick: Rational): number {
    const whole = seconds.n * tick.d;
    const part = seconds.d * tick.n;
    const ticks = whole / part;
    if (ticks * part === whole) return Number(ticks);
    const what = `${role.owner}: ${defaultRows[role.id].title}`;
    const up = Number(ticks) + 1;
    if (!this.roundings.some((r) => r.what === what && r.ticks === up)) {
      const exact = rational(seconds.n, seconds.d);
      this.roundings.push({ what, seconds: toDecimal(exact, 12), ticks: up });
    }
    return up;
  }

  #add(
    role: Role,
    range: Range,
    given: Given<unknown> | undefined,
    text: () => string,
    tick?: Rational,
  ): number {
    return this.#parameters.add(role.owner, role.id, () => entryOf(role, range, given, text, tick));
  }
}

function entryOf(
  { owner, id, effect, legal }: Role,
  range: Range,
  given: Given<unknown> | undefined,
  text: () => string,
  tick: Rational | undefined,
): ParameterEntry {
  const row: DefaultRow = defaultRows[id];
  const reference = given ? given.reference : row.reference;
  // Optional keys last: a key that follows a spread is slow to add, and there are many entries.
  return {
    id: `${owner}.${id}`,
    title: `${owner}: ${row.title}`,
    effect,
    range,
    text,
    basis: given ? given.basis : row.basis,
    from: given ? given.from : 'default',
    ask: row.ask,
    ...(tick ? { tick } : {}),
    ...(legal ? { legal: legal.filter((v) => v >= range.low && v <= range.high) } : {}),
    ...(reference === undefined ? {} : { reference }),
  };
}

/** In a second. */
const picoseconds = 1_000_000_000_000n;

const eighth = rational(1, 8);

/** A size as bytes, or a bare count; ends that are not whole are brought inside the range. */
export function wholeRange(q: Quantity): Range {
  const scaled = q.dimension === 'size' ? eachEnd(q, (bits) => mul(bits, eighth)) : q;
  const low = Number(ceil(scaled.low));
  const high = Math.max(low, Number(floor(scaled.high)));
  const middle = Math.round(toNumber(scaled.expected));
  return { low, expected: Math.min(high, Math.max(low, middle)), high };
}

function scaled({ low, expected, high }: Range, share: number): Range {
  if (share === 1) return { low, expected, high };
  const part = (value: number) => Math.ceil(value * share);
  return { low: part(low), expected: part(expected), high: part(high) };
}

function clip(range: Range, limit: Range): Range {
  const into = (value: number) => Math.min(limit.high, Math.max(limit.low, value));
  return { low: into(range.low), expected: into(range.expected), high: into(range.high) };
}

function spread(range: Range, word: (value: number) => string): string {
  if (range.low === range.high) return word(range.low);
  return `${word(range.low)} to ${word(range.high)}, ${word(range.expected)} expected`;
}

/** The smaller of two given quantities by their expected values; one may be absent. */
export function smaller(
  a: GivenQuantity | undefined,
  b: GivenQuantity | undefined,
): GivenQuantity | undefined {
  if (!a || !b) return a ?? b;
  return compare(b.value.expected, a.value.expected) < 0 ? b : a;
}
