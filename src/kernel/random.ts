import { xoroshiro128plusFromState } from 'pure-rand/generator/xoroshiro128plus';
import type { JumpableRandomGenerator } from 'pure-rand/types/JumpableRandomGenerator';
import type { StateReader, StateWriter } from './state.ts';

const mask64 = (1n << 64n) - 1n;
const gamma = 0x9e3779b97f4a7c15n;

/** Output `index` (from 0) of SplitMix64 started at `seed`; Steele, Lea & Flood, OOPSLA 2014. */
export function splitMix64(seed: bigint, index: bigint): bigint {
  let z = (seed + (index + 1n) * gamma) & mask64;
  z = ((z ^ (z >> 30n)) * 0xbf58476d1ce4e5b9n) & mask64;
  z = ((z ^ (z >> 27n)) * 0x94d049bb133111ebn) & mask64;
  return z ^ (z >> 31n);
}

function checkSeed(name: string, seed: number): bigint {
  if (Number.isSafeInteger(seed) && seed >= 0) return BigInt(seed);
  throw new RangeError(`${name} must be a whole number from 0 to 2^53 - 1, got ${seed}`);
}

/**
 * A seed for part `index` of a study (a replication, a worker's share): a function of both numbers
 * alone, so that any part can be run by itself. Two of n parts share a seed with a chance of about
 * n²/2^54.
 */
export function splitSeed(seed: number, index: number): number {
  const inner = splitMix64(checkSeed('seed', seed), 2n);
  return Number(splitMix64(inner, checkSeed('index', index)) >> 11n);
}

/**
 * The first generator of a seed: xoroshiro128+ (Blackman & Vigna, 2018), its state filled from
 * SplitMix64 as its authors advise, because states of few set bits take long to become random.
 */
export function firstGenerator(seed: number): JumpableRandomGenerator {
  const from = checkSeed('seed', seed);
  const state: number[] = [];
  for (const word of [splitMix64(from, 0n), splitMix64(from, 1n)]) {
    state.push(Number(word >> 32n) | 0, Number(word & 0xffffffffn) | 0);
  }
  return xoroshiro128plusFromState(state);
}

/**
 * A stream of random numbers. Streams of one kernel start 2^64 draws apart in one sequence, so they
 * never overlap. The low bits of xoroshiro128+ are weak: every method but `bits` uses the high
 * ones. Only additions, multiplications, divisions and comparisons of doubles are used, which every
 * engine rounds alike; no library function is.
 */
export class RandomStream {
  private generator: JumpableRandomGenerator;

  constructor(generator: JumpableRandomGenerator) {
    this.generator = generator;
  }

  /** 32 random bits, 0 to 2^32 − 1. */
  bits(): number {
    return this.generator.next() >>> 0;
  }

  /** A multiple of 2^-53, from 0 up to but not including 1. */
  uniform(): number {
    const high = this.generator.next() >>> 5;
    return (high * 67108864 + (this.generator.next() >>> 6)) / 9007199254740992;
  }

  /** True with chance `p`, 0 to 1, in steps of 2^-53. */
  chance(p: number): boolean {
    return this.uniform() < p;
  }

  /** A whole number from `low` to `high`, both included, each as likely; at most 2^32 of them. */
  integer(low: number, high: number): number {
    const values = high - low + 1;
    if (!(Number.isSafeInteger(low) && values >= 1 && values <= 4294967296 && values % 1 === 0)) {
      throw new RangeError(`need whole numbers low <= high < low + 2^32, got ${low} and ${high}`);
    }
    const share = Math.floor(4294967296 / values);
    for (;;) {
      const drawn = Math.floor(this.bits() / share);
      if (drawn < values) return low + drawn;
    }
  }

  /**
   * An exponentially distributed time, rounded to the nearest tick; `mean` up to 2^46 ticks.
   *
   * Method of J. von Neumann (1951), comparisons only: a descending run of uniform numbers has odd
   * length with chance e^-x when it starts at x. Each even run adds one whole mean.
   */
  exponential(mean: number): number {
    if (!(mean > 0 && mean <= 70368744177664)) {
      throw new RangeError(`mean must be above 0 and at most 2^46 ticks, got ${mean}`);
    }
    for (let whole = 0; ; whole++) {
      const first = this.generator.next() >>> 0;
      let odd = true;
      let before = first;
      for (;;) {
        const next = this.generator.next() >>> 0;
        if (next >= before) break;
        before = next;
        odd = !odd;
      }
      if (!odd) continue;
      // 21 more bits below the 32 that were compared.
      const part = (first * 2097152 + (this.generator.next() >>> 11)) / 9007199254740992;
      return Math.floor(mean * (whole + part) + 0.5);
    }
  }

  /** Writes the generator's state. */
  save(to: StateWriter): void {
    to.numbers(this.generator.getState());
  }

  /** Takes the state that `save` wrote. */
  load(from: StateReader): void {
    const state = [from.number(), from.number(), from.number(), from.number()];
    this.generator = xoroshiro128plusFromState(state);
  }
}
