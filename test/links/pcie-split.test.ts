import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { countPieces, paddedBytes, pieces } from '../../src/links/pcie/split.ts';

const rule = fc.record(
  {
    longest: fc.constantFrom(64, 128, 192, 256, 300, 512, 4096),
    boundary: fc.constantFrom(64, 256, 4096),
    step: fc.constantFrom(512, 1000, 1536, 4096),
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
          ...(r.step ? { step: r.step } : {}),
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
      fc.property(fc.nat(4095), fc.integer({ min: 1, max: 20_000 }), rule, (offset, bytes, r) => {
        let at = offset;
        for (const p of pieces(offset, bytes, { ...r, step: r.step ?? 1 << 20 })) {
          expect(p.offset).toBe(at);
          expect(p.bytes).toBeGreaterThan(0);
          expect(p.bytes).toBeLessThanOrEqual(r.longest);
          const last = p.offset + p.bytes - 1;
          expect(Math.floor(p.offset / r.boundary)).toBe(Math.floor(last / r.boundary));
          at += p.bytes;
        }
        expect(at).toBe(offset + bytes);
      }),
    );
  });

  it('fills a payload to the double words that cover it (Base Specification 6.3 §2.2.5)', () => {
    expect(paddedBytes(257, 0)).toBe(260);
    expect(paddedBytes(1, 3)).toBe(4);
    expect(paddedBytes(2, 3)).toBe(8);
  });
});
