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

/** Draws made at a time. */
const batch = 128;

/**
 * A stream of random numbers. Streams of one kernel start 2^64 draws apart in one sequence, so they
 * never overlap. The low bits of xoroshiro128+ are weak: every method but `bits` uses the high
 * ones. Only additions, multiplications, divisions and comparisons of doubles are used, which every
 * engine rounds alike; no library function is.
 *
 * Draws are made a batch at a time, so that the generator's state stays in registers. What is saved
 * is the state before the next draw, whatever the batch.
 */
export class RandomStream {
  private readonly drawn = new Uint32Array(batch);
  /** Draws of the batch used; at first there is none, as if it were used up. */
  private used = batch;
  /** The generator before the batch and after it: high and low word of either half of its state. */
  private before = new Int32Array(4);
  private after = new Int32Array(4);

  constructor(generator: JumpableRandomGenerator) {
    this.after.set(generator.getState());
  }

  /** 32 random bits, 0 to 2^32 − 1. */
  bits(): number {
    if (this.used === batch) this.refill();
    return this.drawn[this.used++]!;
  }

  /** A multiple of 2^-53, from 0 up to but not including 1. */
  uniform(): number {
    const high = this.bits() >>> 5;
    return (high * 67108864 + (this.bits() >>> 6)) / 9007199254740992;
  }

  /** True with chance `p`, 0 to 1, in steps of 2^-53. */
  chance(p: number): boolean {
    return this.uniform() < p;
  }

  /**
   * A whole number from `low` to `high`, both included, each as likely; at most 2^32 of them.
   *
   * Up to 2^21 values: the whole part of bits × values / 2^32, without the few draws that would
   * favour some (D. Lemire, "Fast random integer generation in an interval", ACM TOMACS 29(1),
   * 2019). The product has at most 53 bits, so a double holds it.
   */
  integer(low: number, high: number): number {
    const values = high - low + 1;
    if (!(values >= 1 && values <= 2097152 && Number.isSafeInteger(low) && values % 1 === 0)) {
      return this.integerOfMany(low, high);
    }
    let product = this.bits() * values;
    let whole = (product / 4294967296) | 0;
    // Below 2^32 mod values, the part behind the point is one of those that come too often.
    if (product - whole * 4294967296 < values) {
      const excess = 4294967296 % values;
      while (product - whole * 4294967296 < excess) {
        product = this.bits() * values;
        whole = (product / 4294967296) | 0;
      }
    }
    return low + whole;
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
      const first = this.bits();
      let odd = true;
      let before = first;
      for (;;) {
        const next = this.bits();
        if (next >= before) break;
        before = next;
        odd = !odd;
      }
      if (!odd) continue;
      // 21 more bits below the 32 that were compared.
      const part = (first * 2097152 + (this.bits() >>> 11)) / 9007199254740992;
      return Math.floor(mean * (whole + part) + 0.5);
    }
  }

  /** Writes the generator's state. */
  save(to: StateWriter): void {
    const state = this.used === batch ? this.after : this.before.slice();
    if (this.used < batch) draw(state, new Uint32Array(this.used));
    to.numbers(state);
  }

  /** Takes the state that `save` wrote. */
  load(from: StateReader): void {
    from.numbers(this.after);
    this.used = batch;
  }

  /** As `integer`, for any number of values: by equal shares of the 2^32 draws. */
  private integerOfMany(low: number, high: number): number {
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

  private refill(): void {
    this.before.set(this.after);
    draw(this.after, this.drawn);
    this.used = 0;
  }
}

/** Fills `into` with the low words of xoroshiro128+ and moves its state on. */
function draw(state: Int32Array, into: Uint32Array): void {
  let high0 = state[0]!;
  let low0 = state[1]!;
  let high1 = state[2]!;
  let low1 = state[3]!;
  for (let i = 0; i < into.length; i++) {
    into[i] = low0 + low1;
    const low = low0 ^ low1;
    const high = high0 ^ high1;
    // s0 = rotl(s0, 24) ^ x ^ (x << 16), s1 = rotl(x, 37), with x = s0 ^ s1.
    const turned = (low0 << 24) | (high0 >>> 8);
    high0 = ((high0 << 24) | (low0 >>> 8)) ^ high ^ ((high << 16) | (low >>> 16));
    low0 = turned ^ low ^ (low << 16);
    low1 = (high << 5) | (low >>> 27);
    high1 = (low << 5) | (high >>> 27);
  }
  state[0] = high0;
  state[1] = low0;
  state[2] = high1;
  state[3] = low1;
}
