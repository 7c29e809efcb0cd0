/** From a stream as written to its burst and average rates, exact, with contradictions reported. */

import { bases, type Place } from '../../model/basis.ts';
import {
  add,
  compare,
  div,
  isExact,
  max,
  min,
  mul,
  neg,
  one,
  parseQuantity,
  type Quantity,
  type Rational,
  rangeQuantity,
  rational,
  toDecimal,
  zero,
} from '../../quantity/index.ts';
import type { FrontEnd, Stream, TransferShape } from '../case.ts';
import type { Given, GivenQuantity } from '../given.ts';
import type { Collector } from '../text/problems.ts';
import { quoted, type Tree, treeAt } from '../text/tree.ts';
import type { Reading } from './shape.ts';

/** A stream as written. */
export interface WrittenStream {
  readonly name: string;
  readonly direction: Given<'to host' | 'from host'>;
  readonly rate?: GivenQuantity;
  readonly average?: GivenQuantity;
  readonly front_end?: FrontEnd;
  readonly transfer?: TransferShape;
  readonly weight?: GivenQuantity;
  readonly headroom?: GivenQuantity;
  readonly measured: readonly WrittenMeasurement[];
}
export interface WrittenMeasurement {
  readonly rate: GivenQuantity;
  readonly reference: string;
}

/** A stream whose headroom may still have to come from the case. */
export type RatedStream = Omit<Stream, 'headroom'> & { readonly headroom?: GivenQuantity };

/** Works out `required` and `average`; undefined, with a problem, when there is no rate. */
export function rateStream(
  written: WrittenStream,
  tree: Tree,
  reading: Reading,
): RatedStream | undefined {
  const { rate, average: writtenAverage, front_end, measured, ...rest } = written;
  const made = front_end && madeRates(front_end, treeAt(tree, 'front_end')?.place ?? tree.place);
  if (rate && made) expectAgreement('rate', rate, made.burst, reading.out);
  if (writtenAverage && made?.average) {
    expectAgreement('average', writtenAverage, made.average, reading.out);
  }
  // What the front end makes is exact where the rate may be rounded; a rate is better than a range.
  const exactRate = rate && isExact(rate.value) && made && !isExact(made.burst.value);
  const required = exactRate ? rate : (made?.burst ?? rate);
  if (required === undefined) {
    reading.out.report('missing-key', tree.place, {
      expected: "the key 'rate' or 'front_end'",
      got: 'neither',
      next: "add 'rate:', such as 520 MB/s, or describe the front end",
    });
    return undefined;
  }
  if (writtenAverage) expectNoMore(writtenAverage, required, reading.out);
  const average = writtenAverage ??
    made?.average ?? { ...required, basis: 'assumed', from: 'default' };
  return {
    ...rest,
    place: tree.place,
    required,
    average,
    ...(front_end && { front_end }),
    measured: measured.map(({ rate: value, reference }) => ({
      rate: { ...value, basis: 'measured', reference },
      reference,
    })),
  };
}

/** Names must differ: results and measurements are found by them. */
export function checkNames(streams: readonly RatedStream[], out: Collector): void {
  const seen = new Map<string, RatedStream>();
  for (const stream of streams) {
    const earlier = seen.get(stream.name);
    if (earlier === undefined) {
      seen.set(stream.name, stream);
      continue;
    }
    out.report('duplicate-name', stream.place, {
      expected: 'a stream name no other stream has',
      got: `${quoted(stream.name)}, as at ${placeText(earlier.place)}`,
      next: 'rename one of the two',
    });
  }
}

/** burst = channels × sample rate × container × (1 + header size / block); average = burst × duty. */
function madeRates(
  frontEnd: FrontEnd,
  place: Place,
): { readonly burst: GivenQuantity; readonly average?: GivenQuantity } {
  const { channels, sample_rate, container, duty, block_header: header } = frontEnd;
  const factors = [channels, sample_rate, container];
  // Both sizes of a block header are exact, by their rule.
  const headed = header
    ? add(one, div(header.size.value.expected, header.every.value.expected))
    : one;
  const product = (end: 'low' | 'expected' | 'high') =>
    factors.map((f) => f.value[end]).reduce(mul, headed);
  const burst = { low: product('low'), expected: product('expected'), high: product('high') };
  const all = header ? [...factors, header.size, header.every] : factors;
  const text = factors.map((f) => f.value.text).join(' × ');
  const shown = header
    ? `${text}, ${header.size.value.text} before every ${header.every.value.text}`
    : text;
  const made: Made = { range: burst, text: shown, from: all, place };
  if (duty === undefined) return { burst: madeRate(made) };
  const average: Made = {
    range: {
      low: mul(burst.low, duty.value.low),
      expected: mul(burst.expected, duty.value.expected),
      high: mul(burst.high, duty.value.high),
    },
    text: `(${shown}) × ${duty.value.text}`,
    from: [...all, duty],
    place,
  };
  return { burst: madeRate(made), average: madeRate(average) };
}

interface Made {
  readonly range: { readonly low: Rational; readonly expected: Rational; readonly high: Rational };
  readonly text: string;
  readonly from: readonly GivenQuantity[];
  readonly place: Place;
}

/** A worked-out rate is no better founded than the weakest of what it is made from. */
function madeRate({ range, text, from, place }: Made): GivenQuantity {
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

/** Reports a written rate that the front end does not make, even with the rounding of its text. */
function expectAgreement(
  key: string,
  written: GivenQuantity,
  made: GivenQuantity,
  out: Collector,
): void {
  const slack = halfStep(written.value);
  const low = max(written.value.low, add(made.value.low, neg(slack)));
  const high = min(written.value.high, add(made.value.high, slack));
  if (compare(low, high) <= 0) return;
  out.report('contradiction', written.place, {
    expected: `the ${key} the front end at ${placeText(made.place)} makes, ${rateText(made.value)}`,
    got: quoted(written.value.text),
    next: `correct one of the two, or remove '${key}'`,
  });
}

function expectNoMore(average: GivenQuantity, required: GivenQuantity, out: Collector): void {
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

function placeText({ file, line, column }: Place): string {
  return `${file}:${line}:${column}`;
}
