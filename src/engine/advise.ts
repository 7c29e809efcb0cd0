/**
 * What to change first: single changes of setting, part or width, each rated in full, cheapest first.
 */
import {
  div,
  formatPercent,
  formatRate,
  type Rational,
  rational,
  toNumber,
} from '../quantity/index.ts';
import { generationRow, payloadSizes } from '../standards/pcie-link.ts';
import { buildNetwork } from '../system/build.ts';
import type { Case } from '../system/case.ts';
import { evaluate } from '../system/evaluate.ts';
import type { Change } from '../system/hop.ts';
import type { Network } from '../system/network.ts';
import { payloadLimit } from '../system/nodes.ts';
import { sustainedAt } from '../system/rate.ts';

/** A change, in words, and what each stream then sustains. */
export interface Advice {
  readonly words: string;
  readonly change: Change;
  /** Bytes per second at the low end, by stream. */
  readonly low: readonly number[];
  /** What binds each stream then, at expected. */
  readonly then: readonly string[];
}

/** Single changes that could help a case, cheapest first, not yet rated. */
export function possibleChanges(c: Case, network: Network): { words: string; change: Change }[] {
  const link = c.module.pcie;
  if (!link) return [];
  const { bytes: payload, owner } = payloadLimit(c);
  const larger = payloadSizes
    .filter((size) => size > payload && size <= 4 * payload)
    .map((size) => ({
      words: `Max_Payload_Size ${size} B instead of ${payload} B (${owner} sets the limit)`,
      change: { maxPayload: size },
    }));
  const first = network.hops[0]!.configure(network.parameters.expected()) as {
    generation: 1 | 2 | 3 | 4 | 5;
    width: number;
  };
  const { generation, width } = first;
  const wider = [2 * width, 4 * width]
    .filter((w) => w <= 16)
    .map((w) => ({ words: `x${w} instead of x${width}`, change: { width: w } }));
  const faster = ([generation + 1, generation + 2] as const)
    .filter((g) => g <= 5)
    .map((g) => ({
      words: `${speed(g)} instead of ${speed(generation)}`,
      change: { generation: g },
    }));
  return [...larger, ...wider, ...faster];
}

function speed(generation: number): string {
  const { transfersPerSecond } = generationRow(generation as 1);
  return `${transfersPerSecond / 1e9} GT/s`;
}

/** The first single change that gives every stream its need, or else the one that helps most. */
export function advise(
  c: Case,
  current: Network,
  needs: readonly number[],
  required: readonly number[],
) {
  let best: Advice | undefined;
  for (const { words, change } of possibleChanges(c, current)) {
    const { network } = buildNetwork(c, change);
    const low = sustainedAt(network, 'low');
    const after = evaluate(network, network.parameters.expected());
    const then = after.rates.map(({ stoppedBy }) => after.resources.infos[stoppedBy]!.cause);
    const advice = { words, change, low, then };
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
    const headroom = formatPercent(advice.low[i]! / required[i]! - 1);
    return `${s.name} ${formatRate(advice.low[i]!)} (${headroom} headroom)`;
  });
  const binds = [...new Set(advice.then.slice(0, c.streams.length))].join('; ');
  return `${advice.words}: ${rates.join(', ')}; then binds: ${binds}`;
}

/** The end of a requirement that a low must reach, times one plus the asked headroom, bytes/s. */
export function needOf(required: Rational, headroom: Rational): number {
  const bits = rational(required.n * (headroom.n + headroom.d), required.d * headroom.d);
  return toNumber(div(bits, rational(8)));
}
