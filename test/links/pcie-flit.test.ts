import { describe, expect, it } from 'vitest';
import { chargeSum } from '../../src/links/pcie/closed.ts';
import { flitBytes, flitLayout } from '../../src/links/pcie/flit.ts';
import { pcie, unsupported } from '../../src/links/pcie/index.ts';
import { wireBytes } from '../../src/links/pcie/sizes.ts';
import { type AccountId, accountIndex } from '../../src/model/accounts.ts';
import { toNumber } from '../../src/quantity/index.ts';
import type { PcieGeneration, PcieWidth } from '../../src/standards/pcie-link.ts';
import { flow, link, receiver, throughput } from './pcie-link.ts';

const share = (charges: readonly number[], account: AccountId) =>
  charges[accountIndex[account]]! / chargeSum(charges);

describe('flits at 64 GT/s', () => {
  // PCI Express Base Specification 6.3 §4.2.3.3: of 256 bytes 236 TLP, 6 DLP, 8 CRC, 6 ECC.
  it('spend 20 of 256 bytes on data link, CRC and error correction', () => {
    expect(flitLayout.map(({ bytes }) => bytes)).toEqual([236, 6, 8, 6]);
    expect(flitBytes).toEqual({ all: 256, packets: 236, acknowledgements: 6, framing: 14 });
    const { charges } = pcie.demand(flow(), link({ generation: 6, width: 16 }));
    expect(share(charges.up, 'framing')).toBeCloseTo(14 / 256, 12);
    expect(share(charges.up, 'acknowledgements')).toBeCloseTo(6 / 256, 12);
    expect(share(charges.up, 'payload') + share(charges.up, 'headers')).toBeCloseTo(0.921875, 12);
    expect(share(charges.up, 'line_code')).toBe(0);
  });

  // Worked from the same clause and table 4-30: 128 GB/s × 236/256 × (1 − 40/(748 × 16 + 40)).
  it('carry 117.6 GB/s of packet bytes at x16, and the payload that leaves of it', () => {
    for (const [maxPayload, gigabytes] of [
      [128, 104.5],
      [256, 110.7],
      [512, 114.0],
    ] as const) {
      const config = link({ generation: 6, width: 16, maxPayload });
      const rate = throughput(pcie.demand(flow({ wideAddress: true }), config), config) / 1e9;
      expect(rate).toBeCloseTo(gigabytes, 1);
      expect((rate * (maxPayload + 16)) / maxPayload).toBeCloseTo(117.6, 1);
    }
  });

  it('take 16, 32, 64, 128 and 256 symbol times (tables 4-10 to 4-14)', () => {
    for (const width of [16, 8, 4, 2, 1] satisfies PcieWidth[]) {
      const config = link({ generation: 6, width });
      // A symbol time is 8 bits of a lane; 236 packet bytes fill one flit.
      const flit = (236 * 128 * toNumber(pcie.tick(config))) / (8 / 64e9);
      expect(flit).toBeCloseTo(256 / width, 9);
    }
  });

  // §3.6.2.1, §4.2.3.4.1: no STP, sequence number or LCRC for each packet, no Ack packet; table 2-5:
  // header base 3 or 4 DW for memory requests by address, 3 DW for completions; table 2-6: OHC-A1.
  it('hold packets without framing', () => {
    const options = { headerDw: 3, ecrc: false, family: '1b1b', payloadBytes: 0 } as const;
    expect(wireBytes('MRd', options)).toBe(12);
    expect(wireBytes('MRd', { ...options, headerDw: 4 })).toBe(16);
    expect(wireBytes('MWr', { ...options, payloadBytes: 256 })).toBe(268);
    expect(wireBytes('MWr', { ...options, payloadBytes: 256, partial: true })).toBe(272);
    expect(wireBytes('CplD', { ...options, headerDw: 4, payloadBytes: 256 })).toBe(268);
    expect(wireBytes('CplD', { ...options, payloadBytes: 256, partial: true })).toBe(268);
    expect(wireBytes('MsiWrite', { ...options, headerDw: 4 })).toBe(20);
    expect(wireBytes('MWr', { ...options, ecrc: true, payloadBytes: 256 })).toBe(272);
    expect(wireBytes('Ack', options)).toBe(0);
  });

  it('write a last double word in part with byte enables of their own', () => {
    const config = link({ generation: 6, width: 4 });
    const headers = (transferBytes: number) =>
      pcie.demand(flow({ transferBytes }), config).charges.up[accountIndex.headers]! / 118;
    expect(headers(128)).toBe(12);
    expect(headers(126)).toBe(16);
  });

  it('carry acknowledgements and credit updates in themselves', () => {
    const side = { ...receiver, packetsPerAck: 7, packetsPerUpdate: 3 };
    const config = link({ generation: 6, rootSide: side, moduleSide: side });
    const demand = pcie.demand(flow(), config);
    expect(demand.transfers).toBe(1);
    expect(demand.wire.down).toBe(0);
    expect(demand.linkFill).toEqual({ up: 0, down: 0 });
  });

  it('fill to 16 bytes behind a packet that nothing follows (§4.2.3.4.1)', () => {
    const config = link({ generation: 6, width: 16, maxPayload: 256 });
    const fill = (wideAddress: boolean) =>
      pcie.demand(flow({ transferBytes: 256, wideAddress }), config).sent.fillTicks / 128;
    expect(fill(true)).toBe(0);
    expect(fill(false)).toBe(4);
  });
});

describe('links without numbers in the standard', () => {
  // Link Capabilities, Maximum Link Width: x1, x2, x4, x8, x16 (Base Specification 6.3 table 7-23).
  it('are refused with a text', () => {
    for (const generation of [1, 3, 6] satisfies PcieGeneration[]) {
      for (const width of [12, 32] satisfies PcieWidth[]) {
        const text = unsupported({ generation, width });
        expect(text).toMatch(new RegExp(`x${width} cannot be rated`));
        const config = { ...link({ generation }), width };
        expect(() => pcie.demand(flow(), config)).toThrow(RangeError);
        expect(() => pcie.demand(flow(), config)).toThrow(text);
      }
      for (const width of [1, 2, 4, 8, 16] satisfies PcieWidth[]) {
        expect(unsupported({ generation, width })).toBeUndefined();
      }
    }
  });
});
