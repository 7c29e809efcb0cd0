/** What the tests of agreement share: random links and flows, windows, the difference in bytes. */
import fc from 'fast-check';
import { expect } from 'vitest';
import type { Flow } from '../../src/links/fabric.ts';
import { type PcieConfig, pcie } from '../../src/links/pcie/index.ts';
import { compare, mul, rational, toNumber } from '../../src/quantity/index.ts';
import type { PcieGeneration, PcieWidth } from '../../src/standards/pcie-link.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import type { Network } from '../../src/system/network.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import type { SimulationResult } from '../../src/system/simulate/index.ts';
import { link, many, networkOf, receiver, type StreamSpec } from './networks.ts';

const flitsBetweenSets = { 1: 46, 2: 93, 4: 187, 8: 374, 16: 748 } as const;

/** Any link that grants credits without limit. */
export const anyLink: fc.Arbitrary<PcieConfig> = fc
  .record({
    generation: fc.constantFrom<PcieGeneration>(1, 2, 3, 4, 5, 6),
    width: fc.constantFrom<PcieWidth>(1, 2, 4, 8, 16),
    maxPayload: fc.constantFrom(128, 256, 512),
    completionPayload: fc.constantFrom(64, 128, 256),
    often: fc.boolean(),
    ecrc: fc.boolean(),
    packetsPerAck: fc.integer({ min: 1, max: 8 }),
    packetsPerUpdate: fc.constantFrom(1, 2, 4, many),
  })
  .map(({ packetsPerAck, packetsPerUpdate, often, ...over }) => {
    const end = { ...receiver, packetsPerAck, packetsPerUpdate };
    const { generation, width } = over;
    const symbols = often ? 1180 : 1538;
    const skpInterval =
      generation <= 2 ? symbols : generation < 6 ? 370 : flitsBetweenSets[width as 1];
    const completionPayload = Math.min(over.completionPayload, over.maxPayload);
    return link({ ...over, completionPayload, skpInterval, rootSide: end, moduleSide: end });
  });

export const anyFlow = (kind: 'write' | 'read'): fc.Arbitrary<Partial<Flow>> =>
  fc
    .record({
      transferBytes: fc.oneof(
        fc.integer({ min: 1, max: 9000 }),
        fc.constantFrom(64, 128, 512, 4096, 8192),
      ),
      startOffset: fc.oneof(fc.constant(0), fc.nat(4095)),
      wideAddress: fc.boolean(),
      requestBytes: fc.constantFrom(64, 128, 512, 4096),
      chunk: fc.constantFrom(0, 0, 384, 512, 1000),
      prefixes: fc.constantFrom(0, 0, 1),
    })
    .map(({ chunk, ...over }) => ({ ...over, kind, ...(chunk ? { chunkBytes: chunk } : {}) }));

export const setOf = (config: PcieConfig) => pcie.compensation(config);
export const closedRate = (network: Network) => bytesPerSecond(evaluate(network, []))[0]!;

/** So many intervals of clock compensation, ticks: enough for some packets in each. */
export function windows(config: PcieConfig, packets: number, spec: StreamSpec) {
  const { interval } = setOf(config);
  const network = networkOf([config], [spec]);
  const bytes = Math.min(spec.flow?.transferBytes ?? 4096, config.maxPayload);
  const perPacket = bytes / toNumber(closedRate(network)) / toNumber(network.tick);
  const intervals = Math.ceil((packets * perPacket) / interval) + 3;
  return {
    network,
    window: intervals * interval,
    warmUp: 4 * interval + Math.ceil(50 * perPacket),
  };
}

/** Bytes by which the simulation differs from the closed form over its window. */
export function missing(network: Network, result: SimulationResult): number {
  const seconds = mul(rational(BigInt(result.window.ticks)), network.tick);
  return toNumber(mul(closedRate(network), seconds)) - result.streams[0]!.bytes;
}

/** Payload of the longest packet, or what the longest request asks for. */
export function grain(config: PcieConfig, flow: Partial<Flow>): number {
  const longest = flow.kind === 'read' ? flow.requestBytes! : config.maxPayload;
  return Math.min(longest, flow.transferBytes!, flow.chunkBytes ?? longest);
}

/**
 * Payload that arrives with one flit, of packets of so many bytes: by so much more a window may differ
 * because packets arrive flit by flit. None without flits.
 */
export function flitPayload({ generation }: PcieConfig, bytes: number): number {
  return generation === 6 ? Math.ceil(236 / (bytes + 12)) * bytes : 0;
}

/**
 * Ticks by which a round trip may be longer or shorter than with the mean wait for flits: a request and
 * its answer each wait for NOP packets up to 16 bytes and from nothing to a whole flit, where the closed
 * form takes half of one. 0 without flits.
 */
export function flitWaits({ generation }: PcieConfig): number {
  return generation === 6 ? 2 * (16 + 236 / 2) * 128 : 0;
}

/** Where the state was proved to recur the rates are equal as fractions; else within two packets. */
export function expectEqual(
  network: Network,
  result: SimulationResult,
  tolerance: number,
  flits = 0,
): void {
  if (result.period) expect(compare(result.streams[0]!.rate, closedRate(network))).toBe(0);
  else expect(Math.abs(missing(network, result))).toBeLessThanOrEqual(2 * tolerance + flits);
}
