/**
 * PCI Express link constants of generations 1 to 6. Numbers and rules only; every table names the
 * clause it comes from. SPEC is the PCI Express Base Specification, revision 6.3.
 */
import type { Basis } from '../model/basis.ts';

export type PcieGeneration = 1 | 2 | 3 | 4 | 5 | 6;
export type PcieWidth = 1 | 2 | 4 | 8 | 12 | 16 | 32;

/** 8b/10b at 2.5 and 5 GT/s; 128b/130b at 8 to 32 GT/s; 1b/1b in flits at 64 GT/s. */
export type LineCode = '8b10b' | '128b130b' | '1b1b';

export interface GenerationRow {
  readonly generation: PcieGeneration;
  /** Transfers per second on one lane: bits of its line code (two a symbol of PAM4 at 64 GT/s). */
  readonly transfersPerSecond: number;
  readonly family: LineCode;
  readonly clause: string;
  readonly basis: Basis;
}

export const generationRows: readonly GenerationRow[] = [
  row(1, 2_500_000_000, '8b10b'),
  row(2, 5_000_000_000, '8b10b'),
  row(3, 8_000_000_000, '128b130b'),
  row(4, 16_000_000_000, '128b130b'),
  row(5, 32_000_000_000, '128b130b'),
  row(6, 64_000_000_000, '1b1b'),
];

function row(
  generation: PcieGeneration,
  transfersPerSecond: number,
  family: LineCode,
): GenerationRow {
  const clause = 'SPEC 6.3 §1.2 table 1-1, §4.2.1 (8b/10b), §4.2.2 (128b/130b), §4.2.3 (1b/1b)';
  return { generation, transfersPerSecond, family, clause, basis: 'standard' };
}

export function generationRow(generation: PcieGeneration): GenerationRow {
  return generationRows[generation - 1]!;
}

/**
 * Why the standard gives no numbers for a link, or undefined where it does.
 * Revision 6.3 lists x1, x2, x4, x8 and x16 in Link Capabilities (table 7-23), and no flit tables for
 * other widths (tables 4-10 to 4-14, 4-30).
 */
export function unsupportedLink(generation: PcieGeneration, width: PcieWidth): string | undefined {
  if (width !== 12 && width !== 32) return undefined;
  const { transfersPerSecond } = generationRow(generation);
  return (
    `a link of ${transfersPerSecond / 1e9} GT/s x${width} cannot be rated: the PCI Express Base ` +
    'Specification 6.3 defines x1, x2, x4, x8 and x16 (table 7-23)'
  );
}

/** Reference clock of the two ends; `separate` is without spread spectrum. */
export const clockings = ['common', 'separate', 'separate with spread spectrum'] as const;
export type Clocking = (typeof clockings)[number];

/** Spacing of SKP ordered sets and their length on each lane. */
export interface SkpRule {
  /** Smallest and largest spacing, from the start of one set to the start of the next. */
  readonly shortest: number;
  readonly longest: number;
  /** In flits the spacing counts the flits between two sets. */
  readonly unit: 'symbol times' | 'blocks' | 'flits';
  /** Symbols on each lane as transmitted. */
  readonly symbols: number;
  readonly clause: string;
}

/** Flits between SKP ordered sets at 1b/1b by width (SPEC 6.3 table 4-30). */
const flitsBetweenSkp = {
  independent: { 1: 4, 2: 9, 4: 18, 8: 37, 16: 74 },
  alike: { 1: 46, 2: 93, 4: 187, 8: 374, 16: 748 },
} as const;

/**
 * SKP ordered sets of a link. With spread spectrum on separate clocks the standard gives only what
 * the spacing must be less than; shortest and longest are then both the largest that it allows.
 * @throws RangeError for a width that the standard has no numbers for
 */
export function skpRule(
  generation: PcieGeneration,
  width: PcieWidth,
  clocking: Clocking = 'common',
): SkpRule {
  const spread = clocking === 'separate with spread spectrum';
  const { family } = generationRow(generation);
  if (family === '1b1b') {
    const flits = flitsBetweenSkp[spread ? 'independent' : 'alike'];
    const count = flits[width as keyof typeof flits];
    if (count === undefined) throw new RangeError(unsupportedLink(generation, width));
    const clause = 'SPEC 6.3 table 4-30, §4.2.8.3';
    return { shortest: count, longest: count, unit: 'flits', symbols: 40, clause };
  }
  return spread ? spreadSkp[family] : skpSpacing[family];
}

/**
 * SKP ordered sets with a common reference clock or separate clocks without spread spectrum
 * (SPEC 6.3 §4.2.8.1, §4.2.8.2, §4.2.8.4). 4 symbols are COM and three SKP, 16 one block.
 */
export const skpSpacing = {
  '8b10b': {
    shortest: 1180,
    longest: 1538,
    symbols: 4,
    unit: 'symbol times',
    clause: 'SPEC 6.3 §4.2.8.1, §4.2.8.4',
  },
  '128b130b': {
    shortest: 370,
    longest: 375,
    symbols: 16,
    unit: 'blocks',
    clause: 'SPEC 6.3 §4.2.8.2, §4.2.8.4',
  },
} as const satisfies Readonly<Record<string, SkpRule>>;

/** With spread spectrum: less than 154 symbol times, less than 38 blocks (SPEC 6.3 §4.2.8.4). */
const spreadSkp = {
  '8b10b': { ...skpSpacing['8b10b'], shortest: 153, longest: 153, clause: 'SPEC 6.3 §4.2.8.4' },
  '128b130b': { ...skpSpacing['128b130b'], shortest: 37, longest: 37, clause: 'SPEC 6.3 §4.2.8.4' },
} as const satisfies Readonly<Record<string, SkpRule>>;

export const payloadSizes = [128, 256, 512, 1024, 2048, 4096] as const;
export type PayloadSize = (typeof payloadSizes)[number];

/** Internal delay in symbol times of the Ack latency limit (SPEC 6.3 §3.6.3.1, by generation). */
export const internalDelay: Readonly<Record<Exclude<PcieGeneration, 6>, number>> = {
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
export const packetOverheadBytes = 28;

/**
 * Ack latency limit and UpdateFC latency guideline, symbol times: the longest time from the end of a
 * received packet to the start of its Ack.
 *
 * limit = ⌊(Max_Payload_Size + 28) × factor / width⌋ + internal delay (SPEC 6.3 §3.6.3.1, tables
 * 3-10 to 3-12; UpdateFC: §2.6.1.2, tables 2-52 to 2-54). The factors are those that give all 126
 * published entries exactly.
 * @throws RangeError for generation 6: flits carry their acknowledgements and have no such limit
 */
export function ackLatencyLimit(
  generation: PcieGeneration,
  width: PcieWidth,
  maxPayload: PayloadSize,
): number {
  if (generation === 6) throw new RangeError('flit mode has no Ack latency limit');
  const tenths = ackFactorTenths[maxPayload <= 256 ? 'small' : 'large'][width];
  const share = Math.floor(((maxPayload + packetOverheadBytes) * tenths) / (10 * width));
  return share + internalDelay[generation];
}

/**
 * Replay timer, symbol times (SPEC 6.3 §3.6.2.1). Ports that know 16 GT/s use the simplified limits at
 * every speed; older ports time three Ack latency limits, which their tolerance may double.
 */
export const replayTimer = {
  simplified: { shortest: 24_000, longest: 31_000 },
  /** With Extended Synch set. */
  extended: { shortest: 80_000, longest: 100_000 },
  ackLimits: 3,
  tolerance: 2,
} as const;

/** A transmitter stops with this many packets not acknowledged: half the 12-bit sequence space. */
export const unacknowledgedMost = 2048;

/** Credits a receiver can grant at once, without and with the largest scale (SPEC 6.3 table 3-4). */
export const creditsMost = {
  unscaled: { headers: 127, data: 2047 },
  scaled: { headers: 2032, data: 32_752 },
} as const;
