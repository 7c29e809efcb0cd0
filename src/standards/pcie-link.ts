/**
 * PCI Express link constants of generations 1 to 5 (non-flit mode). Numbers and rules only; every
 * table names the clause it comes from. SPEC is the PCI Express Base Specification, revision 6.3.
 */
import type { Basis } from '../model/basis.ts';

export type PcieGeneration = 1 | 2 | 3 | 4 | 5;
export type PcieWidth = 1 | 2 | 4 | 8 | 12 | 16 | 32;

export interface GenerationRow {
  readonly generation: PcieGeneration;
  /** Transfers per second on one lane. */
  readonly transfersPerSecond: number;
  readonly family: '8b10b' | '128b130b';
  readonly clause: string;
  readonly basis: Basis;
}

export const generationRows: readonly GenerationRow[] = [
  row(1, 2_500_000_000, '8b10b'),
  row(2, 5_000_000_000, '8b10b'),
  row(3, 8_000_000_000, '128b130b'),
  row(4, 16_000_000_000, '128b130b'),
  row(5, 32_000_000_000, '128b130b'),
];

function row(
  generation: PcieGeneration,
  transfersPerSecond: number,
  family: '8b10b' | '128b130b',
): GenerationRow {
  const clause = 'SPEC 6.3 §1.2 table 1-1, §4.2.1 (8b/10b), §4.2.2 (128b/130b)';
  return { generation, transfersPerSecond, family, clause, basis: 'standard' };
}

export function generationRow(generation: PcieGeneration): GenerationRow {
  return generationRows[generation - 1]!;
}

/**
 * SKP ordered sets with a common reference clock or independent clocks without spread spectrum
 * (SPEC 6.3 §4.2.8.1, §4.2.8.2, §4.2.8.4). Intervals run from the start of one set to the next.
 */
export const skpSpacing = {
  '8b10b': {
    /** Symbol times on each lane. */
    shortest: 1180,
    longest: 1538,
    /** COM and three SKP symbols on each lane. */
    symbols: 4,
    unit: 'symbol times',
    clause: 'SPEC 6.3 §4.2.8.1, §4.2.8.4',
  },
  '128b130b': {
    /** Blocks on each lane. */
    shortest: 370,
    longest: 375,
    /** One block of 16 symbols as transmitted. */
    symbols: 16,
    unit: 'blocks',
    clause: 'SPEC 6.3 §4.2.8.2, §4.2.8.4',
  },
} as const;

export const payloadSizes = [128, 256, 512, 1024, 2048, 4096] as const;
export type PayloadSize = (typeof payloadSizes)[number];

/** Internal delay in symbol times of the Ack latency limit (SPEC 6.3 §3.6.3.1, by generation). */
const internalDelay: Readonly<Record<PcieGeneration, number>> = {
  1: 19,
  2: 70,
  3: 115,
  4: 115,
  5: 115,
};

/** Ack factors by width, times ten so that the limit stays integer arithmetic. */
const ackFactorTenths = {
  small: { 1: 14, 2: 14, 4: 14, 8: 25, 12: 30, 16: 30, 32: 30 },
  large: { 1: 10, 2: 10, 4: 10, 8: 10, 12: 20, 16: 20, 32: 20 },
} as const;

/** Header, framing, sequence number and CRCs that the limit's formula allows a packet, bytes. */
const packetOverheadBytes = 28;

/**
 * Ack latency limit and UpdateFC latency guideline, symbol times: the longest time from the end of a
 * received packet to the start of its Ack.
 *
 * limit = ⌊(Max_Payload_Size + 28) × factor / width⌋ + internal delay (SPEC 6.3 §3.6.3.1, tables
 * 3-10 to 3-12; UpdateFC: §2.6.1.2, tables 2-52 to 2-54). The factors are those that give all 126
 * published entries exactly.
 */
export function ackLatencyLimit(
  generation: PcieGeneration,
  width: PcieWidth,
  maxPayload: PayloadSize,
): number {
  const tenths = ackFactorTenths[maxPayload <= 256 ? 'small' : 'large'][width];
  const share = Math.floor(((maxPayload + packetOverheadBytes) * tenths) / (10 * width));
  return share + internalDelay[generation];
}
