/**
 * Parameters of one rating: each a low, expected and high whole number in the model's own unit (ticks,
 * bytes, packets), with the direction of its effect and where it comes from. A corner is one number
 * for each; rating a corner is then plain integer arithmetic.
 */
import type { Effect } from '../links/fabric.ts';
import type { Assumption } from '../model/answer.ts';
import type { Basis } from '../model/basis.ts';
import type { Rational } from '../quantity/index.ts';
import type { Range } from '../standards/defaults.ts';

export interface ParameterEntry {
  /** `module.gap_per_packet`, `host.read_latency`. */
  readonly id: string;
  readonly title: string;
  readonly effect: Effect;
  /** In the model's unit. */
  readonly range: Range;
  /** Seconds of one unit, where the unit is a tick. */
  readonly tick?: Rational;
  /** Values to try when the effect depends and only some are legal; otherwise the range is spread. */
  readonly legal?: readonly number[];
  /** The range for people: `64 ns`, `16 to 127`; worded only when asked, since most never are. */
  readonly text: () => string;
  readonly basis: Basis;
  readonly reference?: string;
  readonly from: Assumption['from'];
  /** What to ask or measure to know it. */
  readonly ask: string;
}

/** One number for each parameter, in the order they were added. */
export type Corner = readonly number[];

export class Parameters {
  readonly #entries: ParameterEntry[] = [];
  readonly #known = new Map<string, Map<string, number>>();

  /**
   * Adds a parameter of an owner and returns its index in every corner. One that the owner has already
   * is not made again.
   */
  add(owner: string, id: string, make: () => ParameterEntry): number {
    let own = this.#known.get(owner);
    if (own === undefined) {
      own = new Map();
      this.#known.set(owner, own);
    }
    const known = own.get(id);
    if (known !== undefined) return known;
    const entry = make();
    const { low, expected, high } = entry.range;
    if (!(low <= expected && expected <= high)) {
      throw new RangeError(`${entry.id}: expected low <= expected <= high`);
    }
    const index = this.#entries.push(entry) - 1;
    own.set(id, index);
    return index;
  }

  get entries(): readonly ParameterEntry[] {
    return this.#entries;
  }

  expected(): number[] {
    return this.#entries.map((e) => e.range.expected);
  }

  /** All parameters at the end that lowers (`low`) or raises (`high`) the rate. */
  corner(end: 'low' | 'high'): number[] {
    return this.#entries.map((e) => atEnd(e, end));
  }

  /** The expected corner with one parameter at the end that lowers or raises the rate. */
  alone(index: number, end: 'low' | 'high'): number[] {
    const values = this.expected();
    values[index] = atEnd(this.#entries[index]!, end);
    return values;
  }

  /** Indexes of parameters that are not known exactly. */
  unknowns(): number[] {
    const open: number[] = [];
    this.#entries.forEach((e, i) => {
      if (e.range.low !== e.range.high) open.push(i);
    });
    return open;
  }

  assumptions(): Assumption[] {
    return this.#entries.map(({ title: name, text, basis, reference, from }) =>
      reference === undefined
        ? { name, text: text(), basis, from }
        : { name, text: text(), basis, reference, from },
    );
  }
}

/** A parameter that `depends` stays at its expected value here; it is scanned instead. */
function atEnd({ effect, range }: ParameterEntry, end: 'low' | 'high'): number {
  if (effect === 'depends') return range.expected;
  const raised = effect === 'raises' ? end : end === 'low' ? 'high' : 'low';
  return range[raised];
}
