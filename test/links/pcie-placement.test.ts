import { describe, expect, it } from 'vitest';
import { pcie } from '../../src/links/pcie/index.ts';
import type { PcieGeneration, PcieWidth } from '../../src/standards/pcie-link.ts';
import { flow, link, receiver } from './pcie-link.ts';

const symbolTime = (generation: PcieGeneration, width: PcieWidth) =>
  (generation <= 2 ? 10 : 65) * width;

describe('start lanes', () => {
  // PCI Express Base Specification 6.3 §4.2.1.2 and §4.2.2.3.2: after idle the next packet starts on
  // lane 0 of a later symbol time; packet sizes as in §4.2.2.3.1. Symbol times of a packet alone.
  it.each([
    [8, 64, false, 11],
    [8, 64, true, 11],
    [8, 128, false, 19],
    [8, 128, true, 19],
    [8, 256, false, 35],
    [8, 256, true, 35],
    [16, 64, false, 6],
    [16, 64, true, 6],
    [16, 128, false, 10],
    [16, 128, true, 10],
    [16, 256, false, 18],
    [16, 256, true, 18],
  ] as const)(
    'x%i: a write of %i B alone takes whole symbol times',
    (width, bytes, wideAddress, times) => {
      for (const generation of [1, 3, 5] satisfies PcieGeneration[]) {
        const config = link({ generation, width, maxPayload: 256 });
        const { sent } = pcie.demand(flow({ transferBytes: bytes, wideAddress }), config);
        expect(sent.ticks + sent.fillTicks).toBe(times * symbolTime(generation, width));
        expect(sent.fillTicks).toBeLessThan(symbolTime(generation, width));
      }
    },
  );

  it('need no fill up to x4: packets are whole double words (§4.2.1.2)', () => {
    for (const width of [1, 2, 4] satisfies PcieWidth[]) {
      const { sent } = pcie.demand(flow({ transferBytes: 128 }), link({ width }));
      expect(sent.fillTicks).toBe(0);
    }
  });

  it('need no fill between packets: MindShare figure 12-12 starts an SDP where a packet ended', () => {
    // 7 DW on x8 from lane 0 end on lane 3; the next packet starts on lane 4 of that symbol time.
    const config = link({ generation: 3, width: 8 });
    const one = pcie.demand(flow({ transferBytes: 8 }), config).wire.up;
    expect(pcie.demand(flow({ transferBytes: 256, writeBytes: 8 }), config).wire.up).toBe(32 * one);
    expect(one / symbolTime(3, 8)).toBe(28 / 8);
  });

  // §4.2.1.2, §4.2.2.3.2: at most one SDP starts in a symbol time, and it is 8 bytes long.
  it('give a symbol time to each Ack and UpdateFC on a wire that carries nothing else', () => {
    const rootSide = { ...receiver, packetsPerAck: 4, packetsPerUpdate: 8 };
    for (const [width, fill] of [
      [16, 8],
      [8, 0],
      [4, 0],
    ] as const) {
      const config = link({ generation: 3, width, rootSide });
      const { wire, linkFill } = pcie.demand(flow({ transferBytes: 32 * 128 }), config);
      expect(wire.down).toBe(12 * 8 * 65);
      expect(linkFill).toEqual({ up: 0, down: 12 * fill * 65 });
    }
  });

  it('let Acks follow packets of the same direction at once', () => {
    const config = link({ generation: 3, width: 16 });
    const { linkFill } = pcie.demand(flow({ kind: 'read' }), config);
    expect(linkFill).toEqual({ up: 0, down: 0 });
  });

  it('fill behind each read request of an engine that pauses', () => {
    // 20 B on x8 are 2.5 symbol times, 24 B are 3.
    const config = link({ generation: 3, width: 8 });
    const fill = (wideAddress: boolean) =>
      pcie.demand(flow({ kind: 'read', wideAddress }), config).sent;
    expect(fill(false)).toMatchObject({ packets: 8, fillTicks: 8 * 4 * 65 });
    expect(fill(true)).toMatchObject({ packets: 8, fillTicks: 0 });
  });
});
