/**
 * Parameters without a direction of effect are scanned: a rate over transfer size or start offset is
 * a sawtooth, so its ends say nothing about what lies between.
 */
import type { Network } from './network.ts';
import type { Corner } from './parameters.ts';

/** Most values tried for one parameter, and most combinations of several. */
const valuesMost = 17;
const combinationsMost = 96;

/**
 * The least or greatest rate of each stream over all scanned parameters, the others as in `corner`.
 *
 * @param choose Math.min for a low, Math.max for a high
 * @param only scan these parameters and no others
 */
export function scanned(
  network: Pick<Network, 'parameters'>,
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
  for (const assignments of combinations(open)) {
    const trial = [...corner];
    for (const { index, value } of assignments) trial[index] = value;
    const rates = at(trial);
    best = best.map((rate, s) => choose(rate, rates[s]!));
  }
  return best;
}

interface Assignment {
  readonly index: number;
  readonly value: number;
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

/**
 * Every combination while they are few. Otherwise one parameter at a time, the others as in the corner:
 * a stream's rate hangs on its own sizes far more than on those of others.
 */
function combinations(open: readonly { index: number; values: readonly number[] }[]) {
  const total = open.reduce((product, { values }) => product * values.length, 1);
  const alone = open.map(({ index, values }) => values.map((value) => [{ index, value }]));
  if (total > combinationsMost) return alone.flat();
  return alone.reduce<Assignment[][]>(
    (all, one) => all.flatMap((head) => one.map((last) => [...head, ...last])),
    open.length === 0 ? [] : [[]],
  );
}
