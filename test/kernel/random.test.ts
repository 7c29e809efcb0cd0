import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel, splitSeed } from '../../src/kernel/index.ts';
import { firstGenerator, RandomStream, splitMix64 } from '../../src/kernel/random.ts';

const mask = (1n << 64n) - 1n;
const rotl = (x: bigint, k: bigint) => ((x << k) | (x >> (64n - k))) & mask;

/**
 * xoroshiro128+ 1.0 as its authors give it (D. Blackman, S. Vigna, "Scrambled linear pseudorandom
 * number generators", ACM TOMS 47(4), 2021; rotations 24, 16, 37 and the jump polynomial of
 * prng.di.unimi.it/xoroshiro128plus.c), here on big integers.
 */
class Xoroshiro {
  private s0: bigint;
  private s1: bigint;

  constructor(seed: number) {
    this.s0 = splitMix64(BigInt(seed), 0n);
    this.s1 = splitMix64(BigInt(seed), 1n);
  }

  next(): bigint {
    const sum = (this.s0 + this.s1) & mask;
    const mixed = this.s1 ^ this.s0;
    this.s0 = rotl(this.s0, 24n) ^ mixed ^ ((mixed << 16n) & mask);
    this.s1 = rotl(mixed, 37n);
    return sum;
  }

  jump(): void {
    let a = 0n;
    let b = 0n;
    for (const word of [0xdf900294d8f554a5n, 0x170865df4b3201fcn]) {
      for (let bit = 0n; bit < 64n; bit++) {
        if ((word >> bit) & 1n) {
          a ^= this.s0;
          b ^= this.s1;
        }
        this.next();
      }
    }
    this.s0 = a;
    this.s1 = b;
  }
}

describe('random streams', () => {
  it('are filled by SplitMix64', () => {
    // The five first outputs for seed 1234567, as listed by Rosetta Code, "Pseudo-random
    // numbers/Splitmix64".
    expect([0n, 1n, 2n, 3n, 4n].map((i) => splitMix64(1234567n, i))).toEqual([
      6457827717110365317n,
      3203168211198807973n,
      9817491932198370423n,
      4593380528125082431n,
      16408922859458223821n,
    ]);
  });

  it('are the low words of xoroshiro128+, each stream one jump of 2^64 after the last', () => {
    for (const seed of [0, 1, 42, 2 ** 53 - 1]) {
      const kernel = new Kernel({ seed });
      const reference = new Xoroshiro(seed);
      for (let stream = 0; stream < 4; stream++) {
        const drawn = kernel.stream();
        const ahead = Object.assign(new Xoroshiro(seed), reference);
        for (let i = 0; i < 200; i++) {
          expect(drawn.bits()).toBe(Number(ahead.next() & 0xffffffffn));
        }
        reference.jump();
      }
    }
  });

  it('go on alike from a checkpoint after any number of draws', () => {
    const kernel = new Kernel({ seed: 8 });
    const stream = kernel.stream();
    for (let drawn = 0; drawn < 400; drawn++) {
      const other = new Kernel({ seed: 8 });
      const restored = other.stream();
      other.restore(kernel.checkpoint());
      expect(other.hash()).toBe(kernel.hash());
      const ahead = Array.from({ length: 3 }, () => restored.bits());
      other.restore(kernel.checkpoint());
      expect(ahead).toEqual(Array.from({ length: 3 }, () => restored.bits()));
      expect(stream.bits()).toBe(ahead[0]);
    }
  });

  it('do not depend on what other streams drew', () => {
    const one = new Kernel({ seed: 9 });
    const other = new Kernel({ seed: 9 });
    for (let i = 0; i < 1000; i++) one.stream().bits();
    for (let i = 0; i < 1000; i++) other.stream();
    expect(one.stream().bits()).toBe(other.stream().bits());
  });

  it('split a seed into distinct seeds, each a function of seed and index alone', () => {
    const seeds = new Set<number>();
    for (const seed of [0, 1, 2, 77]) {
      for (let i = 0; i < 5000; i++) seeds.add(splitSeed(seed, i));
    }
    expect(seeds.size).toBe(20_000);
    expect([...seeds].every((seed) => Number.isSafeInteger(seed) && seed >= 0)).toBe(true);
    expect(() => splitSeed(1, -1)).toThrow('index must be');
  });
});

/** Chi-squared of counts against equal shares. */
function chiSquared(counts: readonly number[]): number {
  const share = counts.reduce((a, b) => a + b, 0) / counts.length;
  return counts.reduce((sum, n) => sum + (n - share) ** 2 / share, 0);
}

describe('draws', () => {
  const stream = () => new RandomStream(firstGenerator(20_261_125));

  it('of whole numbers fill their range evenly', () => {
    fc.assert(
      fc.property(fc.integer(), fc.nat(1e9), (low, more) => {
        const drawn = stream().integer(low, low + more);
        return Number.isInteger(drawn) && drawn >= low && drawn <= low + more;
      }),
    );
    const random = stream();
    const counts = new Array<number>(16).fill(0);
    for (let i = 0; i < 160_000; i++) counts[random.integer(-3, 12) + 3]!++;
    // 15 degrees of freedom: 37.7 is exceeded once in a thousand (any table of chi-squared).
    expect(chiSquared(counts)).toBeLessThan(37.7);
    expect(stream().integer(5, 5)).toBe(5);
    expect(() => random.integer(2, 1)).toThrow('got 2 and 1');
    expect(() => random.integer(0, 2 ** 32)).toThrow('low + 2^32');
    expect(random.integer(0, 2 ** 32 - 1)).toBeLessThan(2 ** 32);
  });

  it('of whole numbers are those of the published method, redrawn where it says so', () => {
    // D. Lemire, "Fast random integer generation in an interval", ACM TOMACS 29(1), 2019,
    // algorithm 5 with words of 32 bits, here on big integers. The last but one number of values
    // is drawn again once in about 2049.
    let redrawn = 0;
    for (const values of [1, 2, 3, 201, 1000, 65_536, 2_096_129, 2_097_152]) {
      const draws = stream();
      const words = stream();
      const size = BigInt(values);
      const excess = (1n << 32n) % size;
      for (let i = 0; i < 10_000; i++) {
        let product = BigInt(words.bits()) * size;
        while ((product & 0xffffffffn) < excess) {
          product = BigInt(words.bits()) * size;
          redrawn++;
        }
        expect(draws.integer(-5, values - 6)).toBe(Number(product >> 32n) - 5);
      }
      expect(draws.bits()).toBe(words.bits());
    }
    expect(redrawn).toBeGreaterThan(0);
  });

  it('of exponential times follow 1 - e^-x', () => {
    const random = stream();
    const n = 200_000;
    const bins = 32;
    const mean = 1_000_000;
    const counts = new Array<number>(bins).fill(0);
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const time = random.exponential(mean);
      if (!(Number.isInteger(time) && time >= 0)) throw new Error(`drew ${time}`);
      sum += time;
      // By the distribution function every bin is as likely as any other.
      counts[Math.min(bins - 1, Math.floor(-Math.expm1(-time / mean) * bins))]!++;
    }
    // 31 degrees of freedom: 61.1 is exceeded once in a thousand.
    expect(chiSquared(counts)).toBeLessThan(61.1);
    // The deviation of an exponential time is its mean: 3.3 standard errors.
    expect(Math.abs(sum / n / mean - 1)).toBeLessThan(3.3 / Math.sqrt(n));
    expect(() => random.exponential(0)).toThrow('mean must be above 0');
  });

  it('of chance p come true p of the time, down to rare ones', () => {
    const random = stream();
    for (const p of [0.5, 0.01, 1e-4]) {
      const n = 200_000;
      let count = 0;
      for (let i = 0; i < n; i++) if (random.chance(p)) count++;
      expect(Math.abs(count - n * p)).toBeLessThan(3.3 * Math.sqrt(n * p * (1 - p)) + 1);
    }
    expect(random.chance(0)).toBe(false);
    expect(random.chance(1)).toBe(true);
  });
});
