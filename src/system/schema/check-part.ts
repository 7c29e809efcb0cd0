/** Values within a part that contradict each other. */
import { compare, isExact } from '../../quantity/index.ts';
import type { GivenQuantity } from '../given.ts';
import type { DmaEngine, PcieFunction, RailDemand } from '../parts.ts';
import type { Collector } from '../text/problems.ts';
import { quoted } from '../text/tree.ts';

/** `gap_per_chunk` means nothing without the size of a chunk. */
export function checkDma(dma: DmaEngine, out: Collector): void {
  if (dma.gap_per_chunk === undefined || dma.chunk !== undefined) return;
  out.report('contradiction', dma.gap_per_chunk.place, {
    expected: "the key 'chunk' beside 'gap_per_chunk'",
    got: 'none',
    next: 'give the size of a chunk, or use gap_per_packet',
  });
}

/** Read_Completion_Boundary ≤ completion_payload ≤ Max_Payload_Size. */
export function checkPcie(pcie: PcieFunction, out: Collector): void {
  const { completion_payload: payload, Max_Payload_Size: largest } = pcie;
  if (payload === undefined) return;
  atMost(['completion_payload', payload], ['Max_Payload_Size', largest], out);
  const boundary = pcie.Read_Completion_Boundary;
  if (boundary) {
    atMost(['Read_Completion_Boundary', boundary], ['completion_payload', payload], out);
  }
}

/** A peak is no less than what is drawn, or offered, all the time. */
export function checkDemand({ continuous, peak }: RailDemand, out: Collector): void {
  if (peak) atMost(['continuous', continuous], ['peak', peak], out);
}

type Named = readonly [name: string, value: GivenQuantity];

/** Reports when all of `less` lies above all of `more`, or when an exact value does in part. */
function atMost([lessName, less]: Named, [moreName, more]: Named, out: Collector): void {
  const [a, b] = [less.value, more.value];
  const wrong = compare(a.low, b.high) > 0 || (isExact(b) && compare(a.high, b.high) > 0);
  if (!wrong) return;
  const { file, line, column } = more.place;
  out.report('contradiction', less.place, {
    expected: `${lessName} of at most ${moreName}, ${quoted(b.text)} at ${file}:${line}:${column}`,
    got: quoted(a.text),
    next: 'correct one of the two',
  });
}
