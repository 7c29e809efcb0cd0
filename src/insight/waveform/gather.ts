/** Gathers up to 32 recorded bits into one whole number, fast where they lie side by side. */
import type { VcdValues } from '../../readers/vcd/index.ts';
import type { BitSource } from './lines.ts';

export class BitGroup {
  /** Bits that are 1, and bits that are z or x; a bit that is not recorded is neither. Unsigned. */
  value = 0;
  unknown = 0;
  /** Bits that are x, not z. */
  contended = 0;
  /** Bits that are recorded. */
  readonly recorded: number;
  readonly #bits: readonly { slot: number; bit: number; place: number }[];
  /** Where all bits follow one another in one slot: its slot, first bit and their mask. */
  readonly #run: { slot: number; bit: number; mask: number } | undefined;

  /**
   * @param sources by number from 0; those from 32 on are not looked at
   * @param slotOf slot of a variable
   */
  constructor(sources: readonly (BitSource | undefined)[], slotOf: (variable: number) => number) {
    const bits: { slot: number; bit: number; place: number }[] = [];
    for (const [place, source] of sources.slice(0, 32).entries()) {
      if (source) bits.push({ slot: slotOf(source.variable), bit: source.bit, place });
    }
    this.#bits = bits;
    this.recorded = bits.reduce((mask, b) => (mask | (1 << b.place)) >>> 0, 0);
    this.#run = runOf(bits);
  }

  /** Slots that the group hangs on. */
  get slots(): number[] {
    return [...new Set(this.#bits.map((b) => b.slot))];
  }

  read(values: VcdValues): void {
    if (this.#run !== undefined) {
      this.#readRun(values, this.#run);
      return;
    }
    let value = 0;
    let unknown = 0;
    let contended = 0;
    for (const { slot, bit, place } of this.#bits) {
      const state = values.bit(slot, bit);
      if (state === 1) value |= 1 << place;
      else if (state > 1) unknown |= 1 << place;
      if (state === 3) contended |= 1 << place;
    }
    this.value = value >>> 0;
    this.unknown = unknown >>> 0;
    this.contended = contended >>> 0;
  }

  #readRun(values: VcdValues, { slot, bit, mask }: { slot: number; bit: number; mask: number }) {
    const first = values.first[slot]!;
    const word = first + (bit >>> 5);
    const shift = bit & 31;
    let value = values.value[word]! >>> shift;
    let unknown = values.unknown[word]! >>> shift;
    if (shift > 0 && word + 1 < values.first[slot + 1]!) {
      value |= values.value[word + 1]! << (32 - shift);
      unknown |= values.unknown[word + 1]! << (32 - shift);
    }
    this.unknown = (unknown & mask) >>> 0;
    this.contended = (value & this.unknown) >>> 0;
    this.value = (value & mask & ~this.unknown) >>> 0;
  }
}

function runOf(bits: readonly { slot: number; bit: number; place: number }[]) {
  const [first] = bits;
  if (first === undefined) return undefined;
  const follows = bits.every(
    (b, i) => b.slot === first.slot && b.place === i && b.bit === first.bit + i,
  );
  if (!follows) return undefined;
  const mask = bits.length === 32 ? 0xffff_ffff : (1 << bits.length) - 1;
  return { slot: first.slot, bit: first.bit, mask };
}
