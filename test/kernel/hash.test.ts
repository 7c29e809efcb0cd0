import { describe, expect, it } from 'vitest';
import { murmur3 } from '../../src/kernel/hash.ts';
import { hashState } from '../../src/kernel/index.ts';

const bytes = (...list: number[]) => new DataView(Uint8Array.from(list).buffer);

describe('state hash', () => {
  it('is MurmurHash3_x86_32 on whole words', () => {
    // Vectors that implementations of MurmurHash3 share (also in the reference tests of several).
    expect(murmur3(bytes(), 1)).toBe(0x514e28b7);
    expect(murmur3(bytes(), 0xffffffff)).toBe(0x81f16f39);
    expect(murmur3(bytes(0xff, 0xff, 0xff, 0xff), 0)).toBe(0x76293b50);
    expect(murmur3(bytes(0x21, 0x43, 0x65, 0x87), 0)).toBe(0xf55b516b);
    expect(murmur3(bytes(0x21, 0x43, 0x65, 0x87), 0x5082edee)).toBe(0x2362f9de);
    expect(murmur3(bytes(...new TextEncoder().encode('test')), 0x9747b28c)).toBe(0x704b81dc);
  });

  it('tells states apart by value, place and length', () => {
    const states = [[], [0], [1], [0, 1], [1, 0], [0, 0], [2 ** 53 - 1], [2 ** 53 - 2]];
    const hashes = states.map((state) => hashState(Float64Array.from(state)));
    expect(new Set(hashes).size).toBe(states.length);
    for (const hash of hashes) expect(hash).toMatch(/^[0-9a-f]{16}$/);
  });
});
