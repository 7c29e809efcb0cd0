/**
 * What to change first: single changes of setting, part or width, each rated in full, cheapest first.
 */
import {
  bytes,
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
  /** Bytes per second at the low end, by stream. */
  readonly low: readonly number[];
  /** What binds each stream then, at expected. */
  readonly then: readonly string[];
}

/** A change not yet rated: in words, as a change of the network, or of the case itself. */
export interface Candidate {
  readonly words: string;
  readonly change: Change;
  readonly changed?: Case;
}

/**
 * Single changes that could help a case, cheapest first: who moves the data; a payload size that both
 * ends of the path take; the width and speed of one hop; a payload that needs other parts.
 *
 * @param hop the hop whose width and speed are looked at, module side first
 */
export function possibleChanges(c: Case, network: Network, hop = 0): Candidate[] {
  if (!c.module.pcie) return [];
  const { bytes: payload, owner } = payloadLimit(c);
  const ends = Math.min(
    ...[c.module.pcie, c.host?.pcie].flatMap((p) => (p ? [bytes(p.Max_Payload_Size.value)] : [])),
  );
  const larger = payloadSizes
    .filter((size) => size > payload && size <= 4 * payload)
    .map((size) => ({
      words: `Max_Payload_Size ${size} B instead of ${payload} B (${owner} sets the limit)`,
      change: { maxPayload: size },
      taken: size <= ends,
    }));
  const of = (taken: boolean) => larger.filter((l) => l.taken === taken);
  return [...byEngine(c), ...of(true), ...ofHop(network, hop), ...of(false)];
}

/** The module's engine instead of a processor, where there is one. */
function byEngine(c: Case): Candidate[] {
  const slow = c.streams.some((s) => (s.moved_by?.value ?? 'module') !== 'module');
  if (!slow || !c.module.dma) return [];
  const streams = c.streams.map(({ moved_by: _, ...stream }) => stream);
  const words = `the engine of ${c.module.id} moves the data instead of the processor`;
  return [{ words, change: {}, changed: { ...c, streams } }];
}

function ofHop(network: Network, hop: number): Candidate[] {
  const { name, configure } = network.hops[hop]!;
  const { generation, width } = configure(network.parameters.expected()) as {
    generation: number;
    width: number;
  };
  const wider = [2 * width, 4 * width]
    .filter((w) => w <= 16)
    .map((w) => ({ words: `${name}: x${w} instead of x${width}`, change: { hop, width: w } }));
  const faster = [generation + 1, generation + 2]
    .filter((g) => g <= 5)
    .map((g) => ({
      words: `${name}: ${speed(g)} instead of ${speed(generation)}`,
      change: { hop, generation: g },
    }));
  return [...wider, ...faster];
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
  const now = evaluate(current, current.parameters.expected());
  const tight = c.streams.map((_, s) => now.resources.infos[now.rates[s]!.stoppedBy]!);
  const hop = tight.find((info) => info.kind === 'wire')?.hop ?? 0;
  // A hop to a peer is not on the path that changes look at.
  const onPath = hop < current.path.length - 1 ? hop : 0;
  for (const { words, change, changed = c } of possibleChanges(c, current, onPath)) {
    const { network } = buildNetwork(changed, change);
    const low = sustainedAt(network, 'low');
    const after = evaluate(network, network.parameters.expected());
    const then = after.rates.map(({ stoppedBy }) => after.resources.infos[stoppedBy]!.cause);
    const advice = { words, low, then };
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
