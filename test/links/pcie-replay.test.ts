import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pcie } from '../../src/links/pcie/index.ts';
import { defaultRows } from '../../src/standards/defaults.ts';
import type { PcieGeneration, PcieWidth } from '../../src/standards/pcie-link.ts';
import { payloadSizes } from '../../src/standards/pcie-link.ts';
import { replaySymbolTimes } from '../../src/standards/pcie-replay.ts';
import { flow, link, seconds } from './pcie-link.ts';

const generations = [1, 2, 3, 4, 5, 6] satisfies PcieGeneration[];
const widths = [1, 2, 4, 8, 16] satisfies PcieWidth[];

describe('losses to replays', () => {
  // An error in 10^12 bits is one in 10^12 / (rate × lanes) seconds; rates from PCI Express Base
  // Specification 6.3 table 1-1.
  it.each([
    [1, 4, 100],
    [3, 8, 15.625],
    [5, 16, 1.953125],
    [6, 16, 0.9765625],
  ] as const)('generation %i x%i errs once in %f s at 1e-12', (generation, width, mean) => {
    const config = link({ generation, width, errorsPerExabit: 1e6, replayTicks: 4e6 });
    const [loss] = pcie.losses(config);
    const share = loss!.lost / loss!.interval;
    expect(share / (seconds(4e6, config) / mean)).toBeCloseTo(1, 5);
    const { interval } = pcie.compensation(config);
    expect(loss!.interval % interval).toBe(0);
    expect(loss!.account).toBe('replay');
  });

  it('are none without errors, and need the time of a replay with them', () => {
    expect(pcie.losses(link())).toEqual([]);
    expect(pcie.losses(link({ errorsPerExabit: 0, replayTicks: 5 }))).toEqual([]);
    expect(() => pcie.losses(link({ errorsPerExabit: 1 }))).toThrow(RangeError);
  });

  it('are whole, and a replay for each mean time between errors of useful packets', () => {
    const any = fc.record({
      generation: fc.constantFrom(...generations),
      width: fc.constantFrom(...widths),
      errorsPerExabit: fc.oneof(
        fc.integer({ min: 1, max: 1e9 }),
        fc.integer({ min: 1, max: 100 }).map((n) => n * 1e12),
      ),
      replayTicks: fc.integer({ min: 0, max: 1e9 }),
    });
    fc.assert(
      fc.property(any, (over) => {
        const config = link(over);
        const [loss] = pcie.losses(config);
        const { interval, lost } = loss!;
        expect(Number.isSafeInteger(interval) && Number.isSafeInteger(lost)).toBe(true);
        expect(lost).toBeGreaterThanOrEqual(0);
        expect(lost).toBeLessThan(interval);
        const ticksPerBit = over.generation <= 2 ? 1 : over.generation === 6 ? 59 / 4 : 8;
        const each = (over.replayTicks * over.errorsPerExabit) / 1e18 / ticksPerBit;
        const asked = each / (1 + each);
        const most = (interval - 1) / interval;
        // Rounded up by less than a tick in the interval.
        expect(lost / interval).toBeGreaterThanOrEqual(Math.min(asked, most) * (1 - 1e-9));
        expect(lost / interval).toBeLessThanOrEqual(asked * (1 + 1e-9) + 1 / interval);
      }),
    );
  });

  it('are left out of the cheapest choice', () => {
    const config = link({ errorsPerExabit: 1e9, replayTicks: 100 });
    expect(pcie.losses(pcie.cheapest(config, flow()))).toEqual([]);
  });
});

describe('time of a replay', () => {
  const at = (
    generation: PcieGeneration,
    width: PcieWidth,
    maxPayload: number,
    more: { fastest?: PcieGeneration; extendedSynch?: boolean } = {},
  ) => replaySymbolTimes({ generation, width, maxPayload, ...more });

  // Replay timer of ports before 16 GT/s: three Ack latency limits, tolerance −0 %/+100 %, so 711 to
  // 1422 symbol times at 2.5 GT/s x1, 128 B (MindShare, PCI Express Technology 3.0, §10.7; limits as
  // in PCI Express Base Specification 3.0 table 3-4). 3171 at x2, 2048 B: its example of 12.7 µs.
  it.each([
    [1, 128, 156, 711],
    [2, 2048, 1038, 3171],
    [8, 128, 20, 201],
    [16, 256, 18, 216],
  ] as const)(
    '2.5 GT/s x%i, %i B: worst after twice the timer and its packets',
    (width, maxPayload, packet, timer) => {
      const { high } = at(1, width, maxPayload);
      // All that was sent since fits half the sequence space, so it is the timer once more.
      expect(high).toBe(packet + 2 * timer + 2 * timer);
    },
  );

  // Base Specification 6.3 §3.6.2.1: 24 000 to 31 000 symbol times, 80 000 to 100 000 with Extended
  // Synch, at every speed of a port that knows 16 GT/s.
  it('waits for the simplified timer where a port knows 16 GT/s', () => {
    const packet = Math.ceil(284 / 8);
    expect(at(3, 8, 256, { fastest: 4 }).high).toBe(packet + 31_000 + 31_000);
    expect(at(4, 8, 256).high).toBe(packet + 31_000 + 31_000);
    const longer = at(4, 8, 256, { extendedSynch: true }).high;
    expect(longer).toBe(packet + 100_000 + 2047 * packet);
    expect(at(3, 8, 256, { extendedSynch: true })).toEqual(at(3, 8, 256));
  });

  it('keeps at most 2047 packets for repetition: half the 12-bit sequence space (§3.6.2.1)', () => {
    const packet = Math.ceil(156 / 16);
    expect(at(5, 16, 128).high).toBe(packet + 31_000 + 2047 * packet);
  });

  it('expects a Nak within the Ack latency limit (§3.6.3.1, table 3-12: 203 at x8, 256 B)', () => {
    const packet = Math.ceil(284 / 8);
    expect(at(3, 8, 256).expected).toBe(packet + 203 + 1 + packet);
    expect(at(3, 8, 256).low).toBe(packet + 115 + 1);
  });

  it('is a range in order for every link, in picoseconds in the table of defaults', () => {
    for (const generation of generations) {
      for (const width of widths) {
        for (const maxPayload of payloadSizes) {
          const { low, expected, high } = at(generation, width, maxPayload);
          expect(low > 0 && low <= expected && expected <= high).toBe(true);
        }
      }
    }
    const context = {
      generation: 1,
      width: 1,
      maxPayload: 128,
      readCompletionBoundary: 64,
    } as const;
    // 4 ns a symbol time.
    expect(defaultRows.replay_cost.range(context).high).toBe((156 + 4 * 711) * 4000);
  });
});
