/** The keys of a distribution of read latency. */
import { compare } from '../../quantity/index.ts';
import type { GivenQuantity, Layer } from '../given.ts';
import {
  type LatencyDistribution,
  type LatencyShape,
  latencyShapes,
  percentiles,
} from '../latency.ts';
import type { HostPart } from '../parts.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';
import { given } from './leaf.ts';
import { choiceRule, quantityRule } from './rules.ts';
import { type Fields, mapped, object, optional, required, type Shape } from './shape.ts';

/** One time: what is drawn from it is a distribution already. */
const time = given(quantityRule('time', 'a time', { exact: true, least: '0 s' }));

type Key = Exclude<keyof LatencyDistribution, 'shape'>;
const rising = ['least', ...percentiles, 'most'] as const;

const points = Object.fromEntries(
  percentiles.map((p) => [
    p,
    optional(time, `Time that ${p.slice(1)} % of the reads take at most.`),
  ]),
);
const fields = {
  shape: required(
    given(choiceRule(latencyShapes, 'a shape of distribution')),
    'fixed, exponential or percentiles.',
  ),
  least: optional(time, 'No read takes less.'),
  mean: optional(time, 'Mean of all reads.'),
  ...points,
  most: optional(time, 'No read takes more.'),
  // `percentiles` names every key of its type.
} as Fields<LatencyDistribution>;

const needed: Readonly<Record<LatencyShape, readonly Key[]>> = {
  fixed: ['mean'],
  exponential: ['mean'],
  percentiles: ['least', 'p50', 'most'],
};
const known: Readonly<Record<LatencyShape, readonly Key[]>> = {
  fixed: ['mean'],
  exponential: ['least', 'mean'],
  percentiles: rising,
};

const order: readonly Layer[] = ['default', 'part', 'case'];

/** A shape stated in a case begins anew: what the part stated for its own no longer counts. */
function withoutReplaced(value: LatencyDistribution): LatencyDistribution {
  // A build choice may hold some of the keys only.
  if ((value.shape as LatencyDistribution['shape'] | undefined) === undefined) return value;
  const from = order.indexOf(value.shape.from);
  const kept = Object.entries(value).filter(([, { from: own }]) => order.indexOf(own) >= from);
  return Object.fromEntries(kept) as unknown as LatencyDistribution;
}

/** A distribution of read latency: what its shape needs, nothing else, and times that rise. */
export const latencyDistribution: Shape<LatencyDistribution> = mapped(
  object<LatencyDistribution>(fields),
  (all, _tree, { out, partial }) => {
    const value = withoutReplaced(all);
    const sound = partial || checkKeys(value, out);
    return checkRising(value, out) && sound ? value : undefined;
  },
);

function checkKeys(value: LatencyDistribution, out: Collector): boolean {
  const { value: shape, place } = value.shape;
  let sound = true;
  for (const key of needed[shape]) {
    if (value[key]) continue;
    out.report('missing-key', place, {
      expected: `the key '${key}' beside 'shape: ${shape}'`,
      got: 'none',
      next: `add '${key}:' with a time`,
    });
    sound = false;
  }
  for (const [key, stated] of Object.entries(value)) {
    if (key === 'shape' || known[shape].includes(key as Key)) continue;
    out.report('contradiction', stated.place, {
      expected: `with 'shape: ${shape}' at ${placeText(place)} no key but ${known[shape].join(', ')}`,
      got: quoted(key),
      next: 'remove one of the two',
    });
    sound = false;
  }
  return sound;
}

/** Least, percentiles and most rise; the mean is no less than the least. */
function checkRising(value: LatencyDistribution, out: Collector): boolean {
  const listed = rising.flatMap((key): [string, GivenQuantity][] => {
    const stated = value[key];
    return stated ? [[key, stated]] : [];
  });
  const pairs = listed.slice(1).map((later, k) => [listed[k]!, later] as const);
  const { least, mean } = value;
  if (least && mean)
    pairs.push([
      ['least', least],
      ['mean', mean],
    ]);
  let sound = true;
  for (const [[lowName, low], [highName, high]] of pairs) {
    if (compare(low.value.expected, high.value.expected) <= 0) continue;
    const more = `${quoted(high.value.text)} at ${placeText(high.place)}`;
    out.report('contradiction', low.place, {
      expected: `${lowName} of at most ${highName}, ${more}`,
      got: quoted(low.value.text),
      next: 'correct one of the two',
    });
    sound = false;
  }
  return sound;
}

type Body = Pick<HostPart, 'pcie' | 'read_latency_distribution'>;

/** Latency and distribution of one file would be two answers to one question. */
export function checkLatency(
  { read_latency_distribution: distribution, pcie }: Partial<Body>,
  out: Collector,
): void {
  const stated = pcie?.read_latency;
  if (!distribution?.shape || !stated || distribution.shape.from !== stated.from) return;
  out.report('contradiction', stated.place, {
    expected: `one of read_latency and read_latency_distribution, at ${placeText(distribution.shape.place)}`,
    got: 'both',
    next: 'remove one of the two; the distribution has a mean of its own',
  });
}
