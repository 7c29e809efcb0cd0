import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { countPieces, ownSteps, paddedBytes, pieces } from '../../src/links/pcie/split.ts';

const rule = fc.record(
  {
    longest: fc.constantFrom(64, 128, 192, 256, 300, 512, 4096),
    boundary: fc.constantFrom(1, 8, 64, 256, 4096),
    steps: fc.array(fc.constantFrom(512, 1000, 1536, 4096), { minLength: 1, maxLength: 2 }),
  },
  { requiredKeys: ['longest', 'boundary'] },
);

describe('splitter', () => {
  it('counts exactly the pieces that a sender would send one by one', () => {
    const span = [
      fc.integer({ min: 0, max: 4095 }),
      fc.integer({ min: 1, max: 70_000 }),
      rule,
    ] as const;
    fc.assert(
      fc.property(...span, fc.constantFrom(4, 64), (offset, bytes, r, modulus) => {
        const cut = {
          longest: r.longest,
          boundary: r.boundary,
          ...(r.steps ? { steps: ownSteps(...r.steps) } : {}),
        };
        const sent = new Map<string, number>();
        for (const p of pieces(offset, bytes, cut)) {
          const key = `${p.bytes}@${p.offset % modulus}`;
          sent.set(key, (sent.get(key) ?? 0) + 1);
        }
        const counted = countPieces(offset, bytes, cut, modulus);
        expect(new Map(counted.map((p) => [`${p.bytes}@${p.lead}`, p.count]))).toEqual(sent);
      }),
      { numRuns: 400 },
    );
  });

  it('covers the span in order, crosses no boundary or step and exceeds no limit', () => {
    fc.assert(
      fc.property(fc.nat(4095), fc.integer({ min: 1, max: 6_000 }), rule, (offset, bytes, r) => {
        let at = offset;
        for (const p of pieces(offset, bytes, r)) {
          expect([p.offset, p.bytes > 0, p.bytes <= r.longest]).toEqual([at, true, true]);
          const last = p.offset + p.bytes - 1;
          expect(Math.floor(p.offset / r.boundary)).toBe(Math.floor(last / r.boundary));
          for (const step of r.steps ?? []) {
            expect(Math.floor((p.offset - offset) / step)).toBe(Math.floor((last - offset) / step));
          }
          at += p.bytes;
        }
        expect(at).toBe(offset + bytes);
      }),
    );
  });

  it('never covers more double words than the longest piece has', () => {
    // Base Specification 6.3 §2.2.2: Length, in double words, is held against Max_Payload_Size.
    fc.assert(
      fc.property(fc.nat(4095), fc.integer({ min: 1, max: 20_000 }), (offset, bytes) => {
        for (const p of pieces(offset, bytes, { longest: 512, boundary: 4096 })) {
          expect(paddedBytes(p.bytes, p.offset % 4)).toBeLessThanOrEqual(512);
        }
      }),
    );
    expect([...pieces(1046, 1100, { longest: 512, boundary: 4096 })].map((p) => p.bytes)).toEqual([
      510, 512, 78,
    ]);
  });

  it('fills a payload to the double words that cover it (Base Specification 6.3 §2.2.5)', () => {
    expect(paddedBytes(257, 0)).toBe(260);
    expect(paddedBytes(1, 3)).toBe(4);
    expect(paddedBytes(2, 3)).toBe(8);
  });
});
