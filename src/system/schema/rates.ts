/** Rates worked out from other values, and what is written checked against them. */
import { bases, type Place } from '../../model/basis.ts';
import {
  add,
  compare,
  div,
  isExact,
  max,
  min,
  neg,
  parseQuantity,
  type Quantity,
  type Rational,
  rangeQuantity,
  rational,
  toDecimal,
  zero,
} from '../../quantity/index.ts';
import type { GivenQuantity } from '../given.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';

/** A product of given values, ends in bits per second. */
export interface Made {
  readonly range: { readonly low: Rational; readonly expected: Rational; readonly high: Rational };
  readonly text: string;
  readonly from: readonly GivenQuantity[];
  readonly place: Place;
}

/** A worked-out rate is no better founded than the weakest of what it is made from. */
export function madeRate({ range, text, from, place }: Made): GivenQuantity {
  const weakest = Math.max(...from.map((f) => bases.indexOf(f.basis)));
  const references = [...new Set(from.map((f) => f.reference).filter((r) => r !== undefined))];
  return {
    value: rangeQuantity('data rate', range, text),
    basis: bases[weakest] ?? 'assumed',
    ...(references.length > 0 && { reference: references.join('; ') }),
    place,
    from: 'case',
  };
}

/**
 * Reports a written rate that `maker` does not make, even with the rounding of its text allowed for.
 */
export function expectAgreement(
  key: string,
  written: GivenQuantity,
  made: GivenQuantity,
  maker: string,
  out: Collector,
): void {
  const slack = halfStep(written.value);
  const low = max(written.value.low, add(made.value.low, neg(slack)));
  const high = min(written.value.high, add(made.value.high, slack));
  if (compare(low, high) <= 0) return;
  out.report('contradiction', written.place, {
    expected: `the ${key} ${maker} at ${placeText(made.place)} makes, ${rateText(made.value)}`,
    got: quoted(written.value.text),
    next: `correct one of the two, or remove '${key}'`,
  });
}

/**
 * The better of a rate as written and as made: what is made is exact where the rate may be rounded;
 * a rate is better than a range.
 */
export function betterRate(
  written: GivenQuantity | undefined,
  made: GivenQuantity | undefined,
): GivenQuantity | undefined {
  const keepWritten = written && isExact(written.value) && made && !isExact(made.value);
  return keepWritten ? written : (made ?? written);
}

/** Reports an average above the burst rate. */
export function expectNoMore(
  average: GivenQuantity,
  required: GivenQuantity,
  out: Collector,
): void {
  const most = add(required.value.high, halfStep(average.value));
  if (compare(average.value.high, most) <= 0) return;
  const burst = `${rateText(required.value)} at ${placeText(required.place)}`;
  out.report('contradiction', average.place, {
    expected: `an average of at most the burst rate, ${burst}`,
    got: quoted(average.value.text),
    next: 'correct one of the two',
  });
}

/** Half a unit in the last place written: 0.05 MB/s for `623.4 MB/s`; 0 for a range. */
function halfStep(q: Quantity): Rational {
  const match = /^\s*[0-9]+(?:\.([0-9]+))?(?:[eE]([+-]?[0-9]{1,3}))?(\D.*)$/s.exec(q.text);
  if (!isExact(q) || match === null) return zero;
  const [, decimals = '', exponent = '0', unit = ''] = match;
  const step = parseQuantity(`1e${Number(exponent) - decimals.length}${unit}`, q.dimension);
  return step.ok && isExact(step.quantity) ? div(step.quantity.expected, rational(2)) : zero;
}

/** In MB/s with six significant digits, for messages. */
function rateText(q: Quantity): string {
  const shown = [...new Set([q.low, q.high].map((v) => toDecimal(inMegabytes(v), 6)))];
  return `${shown.join('..')} MB/s`;
}

function inMegabytes(bitsPerSecond: Rational): Rational {
  return div(bitsPerSecond, rational(8_000_000));
}
