import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Flow } from '../../src/links/fabric.ts';
import { chargeSum } from '../../src/links/pcie/closed.ts';
import { type PcieConfig, pcie } from '../../src/links/pcie/index.ts';
import { type AccountId, accountIndex } from '../../src/model/accounts.ts';
import type { PcieGeneration, PcieWidth } from '../../src/standards/pcie-link.ts';
import { flow, link, many, receiver, throughput } from './pcie-link.ts';

/** Bytes that an account is charged in a direction of a link at 8 GT/s, per transfer. */
function bytesOf(over: Partial<Flow>, config: PcieConfig, account: AccountId, way: 'up' | 'down') {
  const { charges, transfers } = pcie.demand(flow(over), config);
  return charges[way][accountIndex[account]]! / 64 / transfers;
}

describe('prefixes and end-to-end CRC', () => {
  const gen3 = link({ generation: 3, maxPayload: 256 });

  // PCI Express Base Specification 6.3 §2.2.10: a prefix is one double word before the header.
  it('add 4 bytes a prefix to the header of every packet', () => {
    for (const prefixes of [1, 2]) {
      const added = (over: Partial<Flow>, account: AccountId, way: 'up' | 'down') =>
        bytesOf({ ...over, prefixes }, gen3, account, way) - bytesOf(over, gen3, account, way);
      expect(added({}, 'headers', 'up')).toBe(16 * 4 * prefixes);
      expect(added({ kind: 'read' }, 'requests', 'up')).toBe(8 * 4 * prefixes);
      expect(added({ kind: 'read' }, 'headers', 'down')).toBe(16 * 4 * prefixes);
      expect(added({ transfersPerInterrupt: 1 }, 'descriptors', 'up')).toBe(4 * prefixes);
    }
  });

  it('lengthen the round trip of a read by the prefixes of request and completions', () => {
    const request = { offset: 0, bytes: 512, count: 1 };
    const trip = (prefixes: number) => pcie.readTrip(request, flow({ prefixes }), gen3);
    expect(trip(1).requestTicks - trip(0).requestTicks).toBe(4 * 65);
    expect(trip(1).completionTicks - trip(0).completionTicks).toBe(2 * 4 * 65);
    expect(trip(1).lastCompletionTicks - trip(0).lastCompletionTicks).toBe(4 * 65);
  });

  // §2.2.3: the digest is one double word at the end of a packet, requests and completions alike.
  it('add a digest of 4 bytes to every packet of the transaction layer', () => {
    const digest = link({ generation: 3, maxPayload: 256, ecrc: true });
    const added = (over: Partial<Flow>, account: AccountId, way: 'up' | 'down') =>
      bytesOf(over, digest, account, way) - bytesOf(over, gen3, account, way);
    expect(added({}, 'framing', 'up')).toBe(16 * 4);
    expect(added({}, 'acknowledgements', 'down')).toBe(0);
    expect(added({ kind: 'read' }, 'requests', 'up')).toBe(8 * 4);
    expect(added({ kind: 'read' }, 'framing', 'down')).toBe(16 * 4);
    expect(added({ transfersPerInterrupt: 1 }, 'descriptors', 'up')).toBe(4);
  });
});

describe('writes in units of the requester', () => {
  const gen3 = link({ generation: 3, maxPayload: 256 });
  const packets = (over: Partial<Flow>) => pcie.demand(flow(over), gen3).sent.packets;

  // Arithmetic from header, framing and CRC sizes (Base Specification 6.3 §2.2.4.1, §4.2.2.3.1):
  // 64 / (64 + 20) and 64 / (64 + 24), the first row of the usual efficiency table.
  it('carry 76.19 and 72.73 % payload in write-combining buffers of 64 B', () => {
    for (const [wideAddress, share] of [
      [false, 0.7619],
      [true, 0.72727],
    ] as const) {
      const { charges } = pcie.demand(flow({ writeBytes: 64, wideAddress }), gen3);
      const line = charges.up[accountIndex.line_code]!;
      const payload = charges.up[accountIndex.payload]!;
      expect(payload / (chargeSum(charges.up) - line)).toBeCloseTo(share, 5);
    }
  });

  it('are cut at natural boundaries, and never longer than the payload size', () => {
    expect(packets({ writeBytes: 8 })).toBe(512);
    expect(packets({ writeBytes: 8, startOffset: 4 })).toBe(513);
    expect(packets({ writeBytes: 64, startOffset: 60, transferBytes: 72 })).toBe(3);
    expect(packets({ writeBytes: 12, transferBytes: 120 })).toBe(10);
    expect(packets({ writeBytes: 1, transferBytes: 7, startOffset: 2 })).toBe(7);
    expect(packets({ writeBytes: 512 })).toBe(16);
  });

  it('straddle neither a chunk nor a descriptor', () => {
    const ring = { ...descriptors, covers: 3000 };
    const over = { transferBytes: 9000, chunkBytes: 2048, startOffset: 100, descriptors: ring };
    const cuts = new Set([0, 9000]);
    for (let at = 2048; at < 9000; at += 2048) cuts.add(at);
    for (let at = 3000; at < 9000; at += 3000) cuts.add(at);
    for (let at = 4096; at < 9100; at += 4096) cuts.add(at - 100);
    const places = [...cuts].sort((a, b) => a - b);
    const expected = places.slice(1).map((end, i) => Math.ceil((end - places[i]!) / 256));
    const { sent, transfers } = pcie.demand(flow(over), gen3);
    expect(sent.packets / transfers).toBe(expected.reduce((a, b) => a + b));
  });
});

const descriptors = {
  bytes: 32,
  covers: 4096,
  fetchBatch: 8,
  writeBackBytes: 16,
  writeBackBatch: 4,
};

describe('descriptors', () => {
  const config = link({ generation: 3, maxPayload: 256, rootSide: { ...receiver } });
  const big = { transferBytes: 65_536, descriptors };

  // Packet sizes as in Intel AN 855 §1.1.2, §1.1.3: 20 B around a completion, 20 or 24 B for a request
  // and around a write.
  it('cost requests, completions and writes beside the data', () => {
    for (const kind of ['write', 'read'] as const) {
      for (const [wideAddress, around] of [
        [false, 20],
        [true, 24],
      ] as const) {
        const over = { ...big, kind, wideAddress };
        // 16 descriptors: two reads of 256 B, four writes of 64 B.
        const up = 2 * around + 4 * (64 + around);
        expect(bytesOf(over, config, 'descriptors', 'up')).toBe(up);
        expect(bytesOf(over, config, 'descriptors', 'down')).toBe(2 * (256 + 20));
      }
    }
  });

  it('leave the payload as it is, and their share of the line code in its account', () => {
    const plain = pcie.demand(flow({ transferBytes: 65_536 }), config);
    const steered = pcie.demand(flow(big), config);
    const grown = (account: AccountId) =>
      steered.charges.up[accountIndex[account]]! - plain.charges.up[accountIndex[account]]!;
    expect(grown('payload')).toBe(0);
    expect(grown('headers')).toBe(0);
    expect(grown('line_code') * 64).toBe(
      steered.charges.up[accountIndex.descriptors]! + 2 * 8 * 64,
    );
    expect(steered.sent.packets).toBe(plain.sent.packets);
    expect(steered.sent.ticks).toBeGreaterThan(plain.sent.ticks);
    expect(steered.carriedTicks).toBe(plain.carriedTicks);
  });

  it('are acknowledged like every packet', () => {
    const acks = (over: Partial<Flow>, way: 'up' | 'down') =>
      bytesOf({ transferBytes: 65_536, ...over }, config, 'acknowledgements', way) / 8;
    // 256 writes; two requests and four write-backs more; two completions come down.
    expect(acks({}, 'down')).toBe(256);
    expect(acks(big, 'down')).toBe(256 + 6);
    expect(acks(big, 'up')).toBe(2);
  });

  it('split a batch at the request size and at the completion payload', () => {
    const ring = { ...descriptors, bytes: 64, fetchBatch: 16, writeBackBytes: 0 };
    const over = { transferBytes: 65_536, descriptors: ring, requestBytes: 512 };
    // 1024 B: two requests of 512 B, eight completions of 128 B.
    const small = link({ generation: 3, maxPayload: 256, completionPayload: 128 });
    expect(bytesOf(over, small, 'descriptors', 'up')).toBe(2 * 20);
    expect(bytesOf(over, small, 'descriptors', 'down')).toBe(1024 + 8 * 20);
  });

  it('are shared by transfers when a batch is more than one takes', () => {
    const ring = { ...descriptors, fetchBatch: 64, writeBackBatch: 24 };
    const demand = pcie.demand(flow({ ...big, descriptors: ring }), config);
    // 16 a transfer: 64 are fetched every 4, 24 written back every 3 for 2.
    expect(demand.transfers).toBe(12);
    const down = demand.charges.down[accountIndex.descriptors]! / 64;
    expect(down).toBe(3 * (2048 + 8 * 20));
  });
});

describe('everything at once', () => {
  const anyLink = fc
    .record({
      generation: fc.constantFrom<PcieGeneration>(1, 2, 3, 4, 5, 6),
      width: fc.constantFrom<PcieWidth>(1, 2, 4, 8, 16),
      maxPayload: fc.constantFrom(128, 256, 512),
      ecrc: fc.boolean(),
      clocking: fc.constantFrom('common' as const, 'separate with spread spectrum' as const),
      errorsPerExabit: fc.constantFrom(0, 1e6, 1e9),
      replayTicks: fc.integer({ min: 0, max: 1e6 }),
      packetsPerAck: fc.integer({ min: 1, max: 6 }),
      packetsPerUpdate: fc.constantFrom(1, 2, 4, many),
      completionHeaders: fc.constantFrom(4, many),
    })
    .map(({ packetsPerAck, packetsPerUpdate, completionHeaders, ...over }) => {
      const end = { ...receiver, packetsPerAck, packetsPerUpdate, completionHeaders };
      return link({ ...over, rootSide: end, moduleSide: end });
    });
  const anyFlow = fc
    .record(
      {
        kind: fc.constantFrom('write' as const, 'read' as const),
        transferBytes: fc.integer({ min: 1, max: 60_000 }),
        startOffset: fc.nat(4095),
        wideAddress: fc.boolean(),
        requestBytes: fc.constantFrom(64, 512, 4096),
        transfersPerInterrupt: fc.nat(3),
        prefixes: fc.nat(2),
        chunkBytes: fc.constantFrom(512, 3000),
        writeBytes: fc.constantFrom(4, 8, 64, 512),
        descriptors: fc.record({
          bytes: fc.constantFrom(16, 30, 64),
          covers: fc.constantFrom(1024, 3000, 4096),
          fetchBatch: fc.integer({ min: 1, max: 12 }),
          writeBackBytes: fc.constantFrom(0, 4, 16),
          writeBackBatch: fc.integer({ min: 1, max: 6 }),
        }),
      },
      {
        requiredKeys: [
          'kind',
          'transferBytes',
          'startOffset',
          'wideAddress',
          'requestBytes',
          'transfersPerInterrupt',
        ],
      },
    )
    .map((over) => flow(over as Partial<Flow>));

  it('charges whole ticks that sum to the wire time, and every byte of payload', () => {
    fc.assert(
      fc.property(anyLink, anyFlow, (config, f) => {
        const demand = pcie.demand(f, config);
        for (const way of ['up', 'down'] as const) {
          expect(demand.charges[way].every(Number.isSafeInteger)).toBe(true);
          expect(chargeSum(demand.charges[way])).toBe(demand.wire[way]);
          expect(Number.isSafeInteger(demand.linkFill[way])).toBe(true);
        }
        expect(Number.isSafeInteger(demand.sent.fillTicks)).toBe(true);
        const perByte = config.generation <= 2 ? 8 : config.generation === 6 ? 118 : 64;
        const data = demand.charges[f.kind === 'write' ? 'up' : 'down'];
        expect(data[accountIndex.payload]).toBe(demand.bytes * perByte);
        expect(demand.bytes).toBe(f.transferBytes * demand.transfers);
      }),
      { numRuns: 300 },
    );
  });

  it('never beats the cheapest legal choice for the plain flow', () => {
    fc.assert(
      fc.property(anyLink, anyFlow, (config, f) => {
        const { kind, transferBytes, writeBytes } = f;
        const unit = writeBytes === undefined ? {} : { writeBytes };
        const plain = flow({ kind, transferBytes, requestBytes: 4096, ...unit });
        const best = pcie.cheapest(config, plain);
        const rate = (g: Flow, c: PcieConfig) =>
          Math.min(
            ...(['up', 'down'] as const).map((way) => throughput(pcie.demand(g, c), c, way)),
          );
        const [loss] = pcie.losses(config);
        const rest = loss ? 1 - loss.lost / loss.interval : 1;
        expect(rate(f, config) * rest).toBeLessThanOrEqual(rate(plain, best) * (1 + 1e-12));
      }),
      { numRuns: 300 },
    );
  });
});
