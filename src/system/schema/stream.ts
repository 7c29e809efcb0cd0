/** From a stream as written to its burst and average rates, exact, with contradictions reported. */

import type { Place } from '../../model/basis.ts';
import { add, div, mul, one } from '../../quantity/index.ts';
import type { FrontEnd, Stream } from '../case.ts';
import type { GivenQuantity } from '../given.ts';
import { type Tree, treeAt } from '../text/tree.ts';
import { betterRate, expectAgreement, expectNoMore, type Made, madeRate } from './rates.ts';
import type { Reading } from './shape.ts';

/** A stream as written. */
export type WrittenStream = Omit<
  Stream,
  'place' | 'required' | 'average' | 'headroom' | 'measured'
> & {
  readonly rate?: GivenQuantity;
  readonly average?: GivenQuantity;
  readonly headroom?: GivenQuantity;
  readonly measured: readonly WrittenMeasurement[];
};
export interface WrittenMeasurement {
  readonly rate?: GivenQuantity;
  /** Time of one transfer, in place of a rate. */
  readonly time?: GivenQuantity;
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
  const maker = 'the front end';
  if (rate && made) expectAgreement('rate', rate, made.burst, maker, reading.out);
  if (writtenAverage && made?.average) {
    expectAgreement('average', writtenAverage, made.average, maker, reading.out);
  }
  const required = betterRate(rate, made?.burst);
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
    measured: measured.flatMap((m, i) => measurement(m, i, rest.transfer?.size, tree, reading)),
  };
}

/** A measurement as a rate: as written, or the transfer's size over the time it took. */
function measurement(
  { rate, time, reference }: WrittenMeasurement,
  index: number,
  size: GivenQuantity | undefined,
  tree: Tree,
  reading: Reading,
): Stream['measured'][number][] {
  const list = treeAt(tree, 'measured');
  const place = (list?.kind === 'list' ? list.items[index]?.place : undefined) ?? tree.place;
  const sizeText = "the key 'size' in 'transfer', to make a rate of a time";
  if ((!rate && !time) || (time && !size)) {
    reading.out.report('missing-key', place, {
      expected: time ? sizeText : "the key 'rate' or 'time'",
      got: time ? 'a time alone' : 'neither',
      next: time ? "add 'transfer: {size: …}'" : "add 'rate:' or 'time:', such as 13.12 us",
    });
    return [];
  }
  const made =
    time &&
    size &&
    madeRate({
      range: {
        low: div(size.value.low, time.value.high),
        expected: div(size.value.expected, time.value.expected),
        high: div(size.value.high, time.value.low),
      },
      text: `${size.value.text} in ${time.value.text}`,
      from: [size, time],
      place,
    });
  if (rate && made) expectAgreement('rate', rate, made, 'the time', reading.out);
  const value = betterRate(rate, made);
  return value ? [{ rate: { ...value, basis: 'measured', reference }, reference }] : [];
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
