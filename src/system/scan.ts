/**
 * Parameters without a direction of effect are scanned: a rate over transfer size or start offset is
 * a sawtooth, so its ends say nothing about what lies between.
 */
import type { Network } from './network.ts';
import type { Corner } from './parameters.ts';

/** Most values tried for one parameter, and most combinations of several. */
const valuesMost = 33;
const combinationsMost = 1024;

/**
 * The least or greatest rate of each stream over all scanned parameters, the others as in `corner`.
 *
 * @param choose Math.min for a low, Math.max for a high
 * @param only scan these parameters and no others
 */
export function scanned(
  network: Network,
  corner: Corner,
  at: (corner: Corner) => number[],
  choose: (a: number, b: number) => number,
  only?: ReadonlySet<number>,
): number[] {
  const open: { index: number; values: readonly number[] }[] = [];
  network.parameters.entries.forEach((entry, index) => {
    if (entry.effect !== 'depends' || entry.range.low === entry.range.high) return;
    if (only && !only.has(index)) return;
    const { low, expected, high } = entry.range;
    open.push({ index, values: entry.legal ?? candidates(low, expected, high) });
  });
  let best = at(corner);
  for (const values of combinations(open)) {
    const trial = [...corner];
    values.forEach((value, k) => {
      trial[open[k]!.index] = value;
    });
    const rates = at(trial);
    best = best.map((rate, s) => choose(rate, rates[s]!));
  }
  return best;
}

/** Ends, middle, and evenly spread values with one more each: the tooth is at one byte over. */
function candidates(low: number, expected: number, high: number): number[] {
  const found = new Set([low, expected, high]);
  const steps = (valuesMost - 3) / 2;
  // Round the spread to the coarsest power of two that still gives enough values: teeth lie there.
  const width = (high - low) / steps;
  let grain = 1;
  while (grain * 2 <= width) grain *= 2;
  for (let value = Math.ceil(low / grain) * grain; value <= high; value += Math.max(grain, 1)) {
    if (found.size >= valuesMost * 2) break;
    found.add(value);
    if (value + 1 <= high) found.add(value + 1);
  }
  return [...found].sort((a, b) => a - b);
}

/** Every combination while they are few; otherwise one parameter at a time, the others at their ends. */
function combinations(open: readonly { values: readonly number[] }[]): number[][] {
  if (open.length === 0) return [];
  const total = open.reduce((product, { values }) => product * values.length, 1);
  const lists =
    total <= combinationsMost
      ? open.map(({ values }) => values)
      : open.map(({ values }) => [values[0]!, values[values.length >> 1]!, values.at(-1)!]);
  return lists.reduce<number[][]>(
    (all, values) => all.flatMap((head) => values.map((value) => [...head, value])),
    [[]],
  );
}
