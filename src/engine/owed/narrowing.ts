/** What would narrow the rates: each unknown alone at its worst and its best, widest first. */
import type { Answer } from '../../model/answer.ts';
import type { Narrowing } from '../../model/owed.ts';
import { toNumber } from '../../quantity/index.ts';
import { buildNetwork } from '../../system/build.ts';
import type { Case } from '../../system/case.ts';
import { evaluate } from '../../system/evaluate.ts';
import { canRate } from '../../system/nodes.ts';
import type { Corner } from '../../system/parameters.ts';
import { bytesPerSecond } from '../../system/rate.ts';
import { scanned } from '../../system/scan.ts';

/** Most unknowns kept of one stream. */
const UNKNOWNS_MOST = 12;
/** A spread below this part of the rate is rounding of the question, not an unknown. */
const SPREAD_LEAST = 1e-6;

/**
 * One entry for each stream that an unknown moves. Over a parallel bus it holds the widest alone, as
 * the answer names it.
 */
export function narrowings(c: Case, answer: Answer): Narrowing[] {
  const rated = answer.rate?.streams ?? [];
  if (rated.length === 0) return [];
  if (!canRate(c)) {
    return rated.flatMap(({ name, sustained, widenedBy }) =>
      widenedBy ? [{ stream: name, expected: sustained.expected, unknowns: [widenedBy] }] : [],
    );
  }
  const { network } = buildNetwork(c);
  const { parameters } = network;
  const at = (corner: Corner) => bytesPerSecond(evaluate(network, corner)).map(toNumber);
  const effects = parameters.unknowns().map((index) => {
    const only = new Set([index]);
    const { title, text, ask } = parameters.entries[index]!;
    const low = scanned(network, parameters.alone(index, 'low'), at, Math.min, only);
    const high = scanned(network, parameters.alone(index, 'high'), at, Math.max, only);
    return { name: title, text: text(), ask, low, high };
  });
  return rated.flatMap((stream, s): Narrowing[] => {
    const { expected } = stream.sustained;
    const unknowns = effects
      .map(({ low, high, ...rest }) => ({
        ...rest,
        low: Math.min(low[s]!, expected),
        high: Math.max(high[s]!, expected),
      }))
      .filter(({ low, high }) => high - low > expected * SPREAD_LEAST)
      .sort((a, b) => b.high - b.low - (a.high - a.low));
    if (unknowns.length === 0) return [];
    return [{ stream: stream.name, expected, unknowns: unknowns.slice(0, UNKNOWNS_MOST) }];
  });
}
