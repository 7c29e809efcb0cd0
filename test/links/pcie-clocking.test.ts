import { describe, expect, it } from 'vitest';
import { pcie } from '../../src/links/pcie/index.ts';
import { type Clocking, type PcieWidth, skpRule } from '../../src/standards/pcie-link.ts';
import { flow, link, seconds } from './pcie-link.ts';

const spread: Clocking = 'separate with spread spectrum';
const lost = (config: ReturnType<typeof link>) => {
  const { interval, lost: ticks } = pcie.compensation(config);
  return ticks / interval;
};

describe('clock compensation by reference clock', () => {
  // PCI Express Base Specification 6.3 §4.2.8.4: less than 154 symbol times, less than 38 blocks.
  it('loses at least 2.6 % with spread spectrum on separate clocks', () => {
    for (const [generation, symbols, most] of [
      [1, 4, 154],
      [2, 4, 154],
      [3, 1, 38],
      [5, 1, 38],
    ] as const) {
      const config = link({ generation, clocking: spread });
      expect(config.skpInterval).toBe(most - 1);
      const token = generation >= 3 ? 4 / (16 * 8 * (most - 1)) : 0;
      expect(lost(config)).toBeCloseTo(symbols / (most - 1) + token, 12);
      expect(lost(config)).toBeGreaterThan(0.0259);
    }
  });

  it('knows no difference between common and separate clocks without spread spectrum', () => {
    for (const generation of [1, 3, 6] as const) {
      expect(skpRule(generation, 8, 'separate')).toEqual(skpRule(generation, 8, 'common'));
    }
  });

  // Base Specification 6.3 table 4-30 (flits between sets at 1b/1b) and §4.2.8.3 (40 B a lane).
  it.each([
    [16, 748, 74],
    [8, 374, 37],
    [4, 187, 18],
    [2, 93, 9],
    [1, 46, 4],
  ] satisfies [PcieWidth, number, number][])(
    'x%i: 40 bytes a lane every %i or %i flits',
    (width, alike, apart) => {
      for (const [clocking, flits] of [
        ['common', alike],
        [spread, apart],
      ] as const) {
        const config = link({ generation: 6, width, clocking });
        const flit = 256 / width;
        expect(lost(config)).toBeCloseTo(40 / (flits * flit + 40), 12);
        // A symbol time at 64 GT/s is an eighth of a nanosecond.
        const { interval } = pcie.compensation(config);
        expect(seconds(interval, config) / 0.125e-9).toBeCloseTo(flits * flit + 40, 6);
      }
    },
  );

  it('loses 0.333 % at 64 GT/s x16 with a common clock', () => {
    expect(lost(link({ generation: 6, width: 16 }))).toBeCloseTo(0.00333, 5);
  });

  it('keeps the reference clock and the longest spacing it allows in the cheapest choice', () => {
    const config = link({ generation: 3, clocking: spread, skpInterval: 20 });
    const cheapest = pcie.cheapest(config, flow());
    expect(cheapest.skpInterval).toBe(37);
    expect(cheapest.clocking).toBe(spread);
    expect(pcie.cheapest(link({ generation: 3, skpInterval: 370 }), flow()).skpInterval).toBe(375);
  });
});
