import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Flow } from '../../src/links/fabric.ts';
import { chargeSum } from '../../src/links/pcie/closed.ts';
import { mostPacketsPerAck, type PcieConfig, pcie } from '../../src/links/pcie/index.ts';
import { accountIndex, accounts } from '../../src/model/accounts.ts';
import { toNumber } from '../../src/quantity/index.ts';
import type { PcieGeneration, PcieWidth } from '../../src/standards/pcie-link.ts';
import { flow, link, many, receiver } from './pcie-link.ts';

const nanoseconds = (ticks: number, config: PcieConfig) =>
  (ticks * toNumber(pcie.tick(config))) / 1e-9;
/** Ticks without the line code: what a byte count at the decoded rate would take. */
const decoded = (charges: readonly number[]) =>
  chargeSum(charges) - charges[accountIndex.line_code]!;

describe('wire time of posted writes', () => {
  // Arithmetic from header, framing and CRC sizes of PCI Express Base Specification 6.3 §2.2.4.1,
  // §4.2.2.3.1: payload / (payload + 20, 24 or 28), the table application notes print; the 256 B,
  // 20 B entry is worked as 92 % in Intel AN 855 §1.1.2.
  const table: readonly (readonly [number, number, number, number])[] = [
    [128, 0.86486, 0.84211, 0.82051],
    [256, 0.92754, 0.91429, 0.90141],
    [512, 0.96241, 0.95522, 0.94815],
    [1024, 0.98084, 0.9771, 0.97338],
    [2048, 0.99033, 0.98842, 0.98651],
    [4096, 0.99514, 0.99417, 0.99321],
  ];
  it.each(table)(
    '%i B payload takes the published share of the wire',
    (maxPayload, dw3, dw4, ecrc) => {
      for (const generation of [1, 2, 3, 4, 5] satisfies PcieGeneration[]) {
        for (const [wideAddress, digest, share] of [
          [false, false, dw3],
          [true, false, dw4],
          [true, true, ecrc],
        ] as const) {
          const config = link({ generation, maxPayload, ecrc: digest });
          const { charges } = pcie.demand(flow({ wideAddress }), config);
          const payload = charges.up[accountIndex.payload]!;
          expect(payload / decoded(charges.up)).toBeCloseTo(share, 5);
        }
      }
    },
  );

  // Base Specification 6.3 §4.2.1, §4.2.2 and the Linux kernel's speed table (drivers/pci/pci.h):
  // 2, 4, 7.877, 15.754 and 31.508 Gbit/s a lane before any packet.
  it.each([
    [1, 2],
    [2, 4],
    [3, 7.876923],
    [4, 15.753846],
    [5, 31.507692],
  ] as const)('generation %i carries %f Gbit/s a lane', (generation, gigabits) => {
    for (const width of [1, 2, 4, 8, 16] satisfies PcieWidth[]) {
      const config = link({ generation, width });
      const { charges, bytes } = pcie.demand(flow(), config);
      const payload = charges.up[accountIndex.payload]!;
      // Payload with its own share of the line code.
      const all = (payload * chargeSum(charges.up)) / decoded(charges.up);
      const rate = (bytes * 8) / nanoseconds(all, config) / width;
      expect(rate).toBeCloseTo(gigabits, 5);
    }
  });

  it('reproduces the classic 200-write example, both ways and one way', () => {
    // Goldhammer and Ayer, "Understanding Performance of PCI Express Systems" (white paper, 2008;
    // inputs second-hand): 200 writes of 128 B at x8, 2.5 GT/s; 74 ns a packet, one Ack per 5
    // packets and one UpdateFC per 4, 4 ns each, as both directions write alike: 15 160 ns.
    const each = { ...receiver, packetsPerAck: 5, packetsPerUpdate: 4 };
    const config = link({ rootSide: each, moduleSide: each });
    const demand = pcie.demand(flow({ transferBytes: 200 * 128 }), config);
    expect(demand.transfers).toBe(1);
    const oneWay = nanoseconds(demand.wire.up, config);
    const returned = nanoseconds(demand.wire.down, config);
    expect(oneWay).toBeCloseTo(200 * 74, 6);
    expect(returned).toBeCloseTo(40 * 4 + 50 * 4, 6);
    expect(oneWay + returned).toBeCloseTo(15_160, 6);
    expect((25_600 / (oneWay + returned)) * 1000).toBeCloseTo(1688.65, 2);
    expect((25_600 / oneWay) * 1000).toBeCloseTo(1729.73, 2);
  });

  it('splits at the payload size, at 4 KiB and fills the last double word', () => {
    const config = link({ generation: 3, maxPayload: 256 });
    const packets = (over: Partial<Flow>) => pcie.demand(flow(over), config).sent.packets;
    expect(packets({ transferBytes: 256 })).toBe(1);
    expect(packets({ transferBytes: 257 })).toBe(2);
    // Base Specification 6.3 §2.2.7: no request crosses a 4 KiB boundary.
    expect(packets({ transferBytes: 256, startOffset: 4096 - 128 })).toBe(2);
    const { charges } = pcie.demand(flow({ transferBytes: 257 }), config);
    expect(charges.up[accountIndex.padding]).toBe(3 * 64);
  });

  it('cuts packets at the chunks of the engine', () => {
    const config = link({ maxPayload: 256 });
    const { packets, chunks } = pcie.demand(
      flow({ transferBytes: 4096, chunkBytes: 384 }),
      config,
    ).sent;
    expect(chunks).toBe(11);
    // Ten chunks of 256 + 128 and one of 256: no packet straddles two.
    expect(packets).toBe(21);
  });

  it('charges an interrupt as a posted write of one double word', () => {
    // Intel FPGA PCI Express user guides: MSI and MSI-X are one-double-word memory writes; 24 B with
    // framing at 3 DW, 28 B at 4 DW.
    for (const [wideAddress, bytes] of [
      [false, 24],
      [true, 28],
    ] as const) {
      const { charges } = pcie.demand(flow({ wideAddress, transfersPerInterrupt: 1 }), link());
      expect(charges.up[accountIndex.descriptors]).toBe(bytes * 8);
    }
  });
});

describe('wire time of reads', () => {
  it('matches the worked read of Intel AN 855 §1.1.3: 512 B in two completions is 92 %', () => {
    const config = link({ generation: 3, maxPayload: 256 });
    const { charges } = pcie.demand(flow({ kind: 'read', transferBytes: 512 }), config);
    const share =
      charges.down[accountIndex.payload]! /
      decoded(charges.down.map((t, i) => (i === accountIndex.acknowledgements ? 0 : t)));
    // One Ack of 8 B for the request travels with the completions; its line code stays in the sum.
    expect(share).toBeCloseTo(512 / (512 + 40), 4);
  });

  it('sends one request of 20 B per Max_Read_Request_Size and completions at natural boundaries', () => {
    const config = link({ maxPayload: 128, completionPayload: 64 });
    const demand = pcie.demand(flow({ kind: 'read', transferBytes: 4096 }), config);
    expect(demand.charges.up[accountIndex.requests]).toBe(8 * 20 * 8);
    expect(demand.charges.down[accountIndex.headers]).toBe(64 * 12 * 8);
    const shifted = pcie.demand(flow({ kind: 'read', transferBytes: 512, startOffset: 4 }), config);
    // 60 B to the boundary, seven of 64 B, 4 B: nine completions (Base Specification 6.3 §2.3.1.1).
    expect(shifted.charges.down[accountIndex.headers]).toBe(9 * 12 * 8);
  });
});

describe('clock compensation', () => {
  // Loss ranges from Base Specification 6.3 §4.2.8.1, §4.2.8.2 and §4.2.8.4.
  it('loses 4 symbols in 1180 to 1538 at 8b/10b', () => {
    for (const [skpInterval, loss] of [
      [1180, 0.00339],
      [1538, 0.0026],
    ] as const) {
      const { interval, lost } = pcie.compensation(link({ skpInterval }));
      expect(lost / interval).toBeCloseTo(loss, 5);
    }
  });
  it('loses one block in 370 to 375 at 128b/130b, and 4 B of the link before it', () => {
    for (const [width, token] of [
      [1, 0.00067],
      [8, 0.00008],
      [16, 0.00004],
    ] as const) {
      const { interval, lost } = pcie.compensation(
        link({ generation: 3, width, skpInterval: 375 }),
      );
      expect(lost / interval).toBeCloseTo(1 / 375 + token, 5);
    }
  });
});

describe('credits', () => {
  it('keeps the period of a window of 32 headers (reference run of a one-link model)', () => {
    // A sender on a 1 GB/s wire, 148 B packets, 32 header credits, credits usable 50 + 6000 ns after
    // the packet: a million packets then end at 193 692 088 ns in an independent event simulation,
    // that is 31 249 windows of 6198 ns, 32 packets and the last credit's return.
    const back = Math.round(6050e-9 / toNumber(pcie.tick(link({ width: 4 }))));
    const rootSide = { ...receiver, postedHeaders: 32, postedData: 256, creditReturnTicks: back };
    const config = link({ width: 4, rootSide });
    const limits = pcie.limits(flow({ transferBytes: 128 * 32 }), config, false);
    const periods = limits.map((l) => nanoseconds(l.ticks / l.window, config));
    expect(periods).toHaveLength(2);
    for (const period of periods) {
      const last = (1_000_000 / 32 - 1) * period + 31 * 148 + (148 + 50 + 6000);
      expect(last).toBeCloseTo(193_692_088, 0);
    }
  });

  it('grants data credits in whole packets where all are alike', () => {
    const rootSide = { ...receiver, postedData: 15, creditReturnTicks: 1000 };
    const [data] = pcie.limits(flow(), link({ rootSide }), false);
    expect(data!.window).toBe(8);
  });

  it('holds a header and a data credit for each interrupt, beside the data', () => {
    // Base Specification 6.3 table 2-49: a memory write takes one posted header credit and one data
    // credit for each 16 B begun; an interrupt is such a write of 4 B (24 B on the wire, 3 DW).
    const back = 1000;
    const rootSide = { ...receiver, postedHeaders: 4, postedData: 64, creditReturnTicks: back };
    const config = link({ rootSide });
    const bytes = (count: number) => count * 10 + back;
    const one = flow({ transferBytes: 128, transfersPerInterrupt: 2 });
    const [headers, data] = pcie.limits(one, config, false);
    expect(headers).toMatchObject({ transfers: 2, ticks: 2 * bytes(148) + bytes(24) });
    expect(data).toMatchObject({ transfers: 2, ticks: 2 * 8 * bytes(148) + bytes(24) });
    // A reading engine's interrupts are posted as well.
    const read = pcie.limits({ ...one, kind: 'read' }, config, false);
    expect(read.find((l) => l.id === 'posted_headers')).toMatchObject({ ticks: bytes(24) });
  });

  it('holds a non-posted header credit for each request of descriptors', () => {
    const rootSide = { ...receiver, nonpostedHeaders: 4, creditReturnTicks: 1000 };
    const descriptors = {
      bytes: 32,
      covers: 4096,
      fetchBatch: 1,
      writeBackBytes: 0,
      writeBackBatch: 1,
    };
    const found = pcie.limits(flow({ descriptors }), link({ rootSide }), false);
    expect(found).toEqual([
      expect.objectContaining({ id: 'nonposted_headers', ticks: 20 * 10 + 1000, transfers: 1 }),
    ]);
  });

  it('counts the Acks of the end that receives, whichever way round the requester sits', () => {
    const moduleSide = { ...receiver, packetsPerAck: 4 };
    const config = link({ moduleSide });
    const acks = (flipped: boolean) => {
      const { charges, transfers } = pcie.demand(flow(), config, flipped);
      return charges.down[accountIndex.acknowledgements]! / transfers / (8 * 8);
    };
    expect(acks(false)).toBe(32);
    expect(acks(true)).toBe(8);
  });

  it('refuses a receiver that cannot hold one packet', () => {
    const rootSide = { ...receiver, postedData: 7 };
    expect(() => pcie.limits(flow(), link({ rootSide }), false)).toThrow(/cannot hold one packet/);
  });
});

describe('fewest Acks', () => {
  it('covers with one Ack what arrives within the latency limit', () => {
    // 2.5 GT/s x8, 128 B: limit 67 symbol times, tolerance +100 %, 18.5 symbol times a packet.
    expect(mostPacketsPerAck({ generation: 1, width: 8, maxPayload: 128 }, 148)).toBe(8);
    // Short packets: more of them arrive in the same time.
    expect(mostPacketsPerAck({ generation: 1, width: 8, maxPayload: 128 }, 20)).toBe(54);
  });
});

describe('any link and any flow', () => {
  const anyLink = fc
    .record({
      generation: fc.constantFrom<PcieGeneration>(1, 2, 3, 4, 5),
      width: fc.constantFrom<PcieWidth>(1, 2, 4, 8, 16),
      maxPayload: fc.constantFrom(128, 256, 512),
      ecrc: fc.boolean(),
      packetsPerAck: fc.integer({ min: 1, max: 12 }),
      packetsPerUpdate: fc.constantFrom(1, 2, 4, 7, many),
    })
    .map(({ packetsPerAck, packetsPerUpdate, ...over }) => {
      const end = { ...receiver, packetsPerAck, packetsPerUpdate };
      return link({ ...over, rootSide: end, moduleSide: end });
    });
  const anyFlow = fc
    .record({
      kind: fc.constantFrom('write' as const, 'read' as const),
      transferBytes: fc.integer({ min: 1, max: 100_000 }),
      startOffset: fc.nat(4095),
      wideAddress: fc.boolean(),
      requestBytes: fc.constantFrom(64, 128, 512, 4096),
      transfersPerInterrupt: fc.nat(3),
    })
    .map((over) => flow(over));

  it('charges whole ticks that sum to the wire time, payload exactly', () => {
    fc.assert(
      fc.property(anyLink, anyFlow, (config, f) => {
        const demand = pcie.demand(f, config);
        for (const direction of ['up', 'down'] as const) {
          const charges = demand.charges[direction];
          expect(charges.every(Number.isSafeInteger)).toBe(true);
          expect(chargeSum(charges)).toBe(demand.wire[direction]);
        }
        const data = demand.charges[f.kind === 'write' ? 'up' : 'down'];
        const perByte = config.generation <= 2 ? 8 : 64;
        expect(data[accountIndex.payload]).toBe(demand.bytes * perByte);
        expect(demand.bytes).toBe(f.transferBytes * demand.transfers);
      }),
      { numRuns: 500 },
    );
  });

  it('puts the same share of every packet byte into the line code', () => {
    fc.assert(
      fc.property(anyLink, anyFlow, (config, f) => {
        const { charges } = pcie.demand(f, config);
        const ratio = config.generation <= 2 ? 0.2 : 1 / 65;
        for (const list of [charges.up, charges.down]) {
          if (chargeSum(list) === 0) continue;
          expect(list[accountIndex.line_code]! / chargeSum(list)).toBeCloseTo(ratio, 12);
        }
      }),
    );
  });

  it('uses only the accounts it declares', () => {
    fc.assert(
      fc.property(anyLink, anyFlow, (config, f) => {
        const { charges } = pcie.demand(f, config);
        accounts.forEach(({ id }, i) => {
          if (pcie.accounts.includes(id)) return;
          expect(charges.up[i]! + charges.down[i]!).toBe(0);
        });
      }),
    );
  });
});
