/** Counts gaps in a fixed number of bins, whole picoseconds from 0 to past a year of them. */
import type { GapHistogram } from './types.ts';

/** Bins of an octave: 8, so that a bin is at most an eighth of its lower edge wide. */
const STEPS = 8;
/** Octaves above 8: the last bin begins beyond 2^65 ps, 426 days. */
const OCTAVES = 63;

/** Bins for times between packets. */
export class GapCounter {
  readonly #bins = new Float64Array(STEPS * (OCTAVES + 1));
  #count = 0;
  #least = Number.POSITIVE_INFINITY;
  #greatest = Number.NEGATIVE_INFINITY;

  /** Counts a gap of whole picoseconds, 0 or above. */
  add(picos: number): void {
    this.#count += 1;
    if (picos < this.#least) this.#least = picos;
    if (picos > this.#greatest) this.#greatest = picos;
    const bin = binOf(picos);
    this.#bins[bin] = this.#bins[bin]! + 1;
  }

  result(): GapHistogram {
    const bins: { from: number; below: number; packets: number }[] = [];
    this.#bins.forEach((packets, bin) => {
      if (packets > 0) bins.push({ from: edge(bin), below: edge(bin + 1), packets });
    });
    if (this.#count === 0) return { count: 0, bins };
    return { count: this.#count, least: this.#least, greatest: this.#greatest, bins };
  }
}

/** Lower edge of a bin: 0 to 15 one by one, then 16, 18 … 30, 32, 36 …, exact in a double. */
function edge(bin: number): number {
  if (bin < 2 * STEPS) return bin;
  const octave = Math.floor(bin / STEPS) - 1;
  return (STEPS + (bin % STEPS)) * twoTo(octave);
}

function twoTo(power: number): number {
  let value = 1;
  for (let i = 0; i < power; i += 1) value *= 2;
  return value;
}

/** The bin whose edges hold the value. The three bits behind the leading one choose the step. */
function binOf(picos: number): number {
  if (picos < 2 * STEPS) return picos;
  let octave = 0;
  let rest = picos;
  while (rest >= 4_294_967_296) {
    rest = Math.floor(rest / 65_536);
    octave += 16;
  }
  const shift = 28 - Math.clz32(rest);
  // A rest of 8 to 15 is left: the leading one and three bits.
  const step = rest >>> shift;
  return Math.min(STEPS * (octave + shift + 1) + (step - STEPS), STEPS * (OCTAVES + 1) - 1);
}
