/** From what a case or part gives of a bus, or else a standing range, to a parameter in bus clocks. */
import type { Effect } from '../../links/fabric.ts';
import type { Rounding } from '../../model/answer.ts';
import type { Basis } from '../../model/basis.ts';
import {
  ceil,
  div,
  eachEnd,
  formatQuantity,
  formatSize,
  type Rational,
  toDecimal,
} from '../../quantity/index.ts';
import type { Range } from '../../standards/default-row.ts';
import type { GivenQuantity } from '../given.ts';
import { wholeRange } from '../given-range.ts';
import type { Parameters } from '../parameters.ts';

/** What stands where nothing is given. */
export interface Standing {
  readonly title: string;
  readonly unit: 'clocks' | 'bytes' | 'count';
  readonly range: Range;
  readonly basis: Basis;
  readonly reference: string;
  readonly ask: string;
}

/** Whose parameter it is, and how it acts on a rate. */
export interface BusRole {
  readonly owner: string;
  readonly id: string;
  readonly effect: Effect;
  readonly legal?: readonly number[];
}

export class BusReader {
  readonly roundings: Rounding[] = [];
  readonly #parameters: Parameters;
  readonly #clock: Rational;

  /** @param clock seconds a clock of the bus */
  constructor(parameters: Parameters, clock: Rational) {
    this.#parameters = parameters;
    this.#clock = clock;
  }

  /** A count of clocks or of anything, or a size in bytes. Returns the parameter's index. */
  whole(role: BusRole, given: GivenQuantity | undefined, standing: Standing): number {
    const range = given ? wholeRange(given.value) : standing.range;
    return this.#add(role, given, standing, range);
  }

  /** A time in clocks, rounded up. */
  time(role: BusRole, given: GivenQuantity | undefined, standing: Standing): number {
    if (!given) return this.#add(role, undefined, standing, standing.range);
    const range = eachEnd(given.value, (seconds) => this.clocks(role.owner, standing, seconds));
    return this.#add(role, given, standing, range);
  }

  /** Clocks of a time, rounded up; the rounding is kept. */
  clocks(owner: string, standing: Pick<Standing, 'title'>, seconds: Rational): number {
    const exact = div(seconds, this.#clock);
    const ticks = Number(ceil(exact));
    const what = `${owner}: ${standing.title}`;
    const known = this.roundings.some((r) => r.what === what && r.ticks === ticks);
    if (exact.d !== 1n && !known) {
      this.roundings.push({ what, seconds: toDecimal(seconds, 12), ticks });
    }
    return ticks;
  }

  #add(role: BusRole, given: GivenQuantity | undefined, s: Standing, range: Range): number {
    const { owner, id, effect, legal } = role;
    const text = given ? () => formatQuantity(given.value) : () => spread(range, s.unit);
    const reference = given ? given.reference : s.reference;
    return this.#parameters.add(owner, id, () => ({
      id: `${owner}.${id}`,
      title: `${owner}: ${s.title}`,
      effect,
      range,
      text,
      basis: given ? given.basis : s.basis,
      from: given ? given.from : 'default',
      ask: s.ask,
      ...(legal ? { legal: legal.filter((v) => v >= range.low && v <= range.high) } : {}),
      ...(reference === undefined || reference === '' ? {} : { reference }),
    }));
  }
}

function spread({ low, expected, high }: Range, unit: Standing['unit']): string {
  const word = (value: number) =>
    unit === 'bytes' ? formatSize(value) : unit === 'clocks' ? `${value} clocks` : String(value);
  if (low === high) return word(low);
  return `${word(low)} to ${word(high)}, ${word(expected)} expected`;
}
