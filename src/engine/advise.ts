/**
 * What to change first: single changes of setting, part or width, each rated in full, cheapest first.
 */
import { div, formatRate, type Rational, rational, toNumber } from '../quantity/index.ts';
import { buildNetwork } from '../system/build.ts';
import type { Case } from '../system/case.ts';
import { type Evaluation, evaluate } from '../system/evaluate.ts';
import type { Network } from '../system/network.ts';
import { sustainedAt } from '../system/rate.ts';
import { possibleChanges } from './candidates.ts';
import { headroomWords } from './headroom.ts';

/** A change, in words, and what each stream then sustains. */
export interface Advice {
  readonly words: string;
  /** Bytes per second at the low end, by stream. */
  readonly low: readonly number[];
  /** The case with the change made. */
  readonly network: Network;
}

/**
 * The first single change that gives every stream its need, or else the one that helps most.
 *
 * @param now the case as it is, at expected values
 */
export function advise(
  c: Case,
  now: Evaluation,
  needs: readonly number[],
  required: readonly number[],
) {
  let best: Advice | undefined;
  const { network: current } = now;
  const tight = c.streams.map((_, s) => now.resources.infos[now.rates[s]!.stoppedBy]!);
  const hop = tight.find((info) => info.kind === 'wire')?.hop ?? 0;
  // A hop to a peer is not on the path that changes look at.
  const onPath = hop < current.path.length - 1 ? hop : 0;
  for (const { words, change, changed = c } of possibleChanges(c, current, onPath)) {
    const { network } = buildNetwork(changed, change);
    const low = sustainedAt(network, 'low');
    const advice = { words, low, network };
    const enough = needs.every((need, s) => low[s]! >= need);
    if (enough) return { enough, advice } as const;
    if (!best || worstHeadroom(low, required) > worstHeadroom(best.low, required)) best = advice;
  }
  return best ? ({ enough: false as boolean, advice: best } as const) : undefined;
}

export function worstHeadroom(rates: readonly number[], required: readonly number[]): number {
  return Math.min(...required.map((need, s) => rates[s]! / need - 1));
}

/** `Max_Payload_Size 256 B …: 709 MB/s for multibeam, 36.0 % headroom`. */
export function wordAdvice(c: Case, advice: Advice, required: readonly number[]): string {
  const rates = c.streams.map((s, i) => {
    const low = advice.low[i]!;
    return `${s.name} ${formatRate(low)} (${headroomWords(low / required[i]! - 1)})`;
  });
  const then = evaluate(advice.network, advice.network.parameters.expected());
  // What binds each stream then, at expected.
  const causes = c.streams.map((_, s) => then.resources.infos[then.rates[s]!.stoppedBy]!.cause);
  const binds = [...new Set(causes)].join('; ');
  return `${advice.words}: ${rates.join(', ')}; then binds: ${binds}`;
}

/** The end of a requirement that a low must reach, times one plus the asked headroom, bytes/s. */
export function needOf(required: Rational, headroom: Rational): number {
  const bits = rational(required.n * (headroom.n + headroom.d), required.d * headroom.d);
  return toNumber(div(bits, rational(8)));
}
