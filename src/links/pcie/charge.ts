/**
 * Ticks of PCI Express: one tick is the time of a bit on one lane divided by the lanes (8b/10b), or an
 * eighth of that (128b/130b). A byte striped over the lanes then takes 10 ticks, of which 8 are its
 * own and 2 the line code's; or 65, of which 64 are its own and 1 is its share of the 2 block bits.
 * (SPEC 6.3 §4.2.1.1: ten bits a symbol; §4.2.2.1: 130 bits a block of sixteen symbols.)
 */
import { type AccountId, accountCount, accountIndex } from '../../model/accounts.ts';
import { type Rational, rational } from '../../quantity/index.ts';
import { generationRow, skpSpacing } from '../../standards/pcie-link.ts';
import type { Compensation } from '../fabric.ts';
import type { PcieConfig } from './config.ts';
import type { LineFamily } from './framing.ts';
import { edsBytes, overheadBytes, type PacketKind } from './sizes.ts';

interface ByteTicks {
  readonly own: number;
  readonly code: number;
  /** Ticks of one bit time on one lane, for a link of one lane. */
  readonly perBit: number;
}

const byteTicks: Readonly<Record<LineFamily, ByteTicks>> = {
  '8b10b': { own: 8, code: 2, perBit: 1 },
  '128b130b': { own: 64, code: 1, perBit: 8 },
};

export function family(config: PcieConfig): LineFamily {
  return generationRow(config.generation).family;
}

/** Ticks of one byte on the wire with its share of the line code. */
export function ticksPerByte(config: PcieConfig): number {
  const { own, code } = byteTicks[family(config)];
  return own + code;
}

/** Ticks of one symbol time: one byte on every lane. */
export function ticksPerSymbolTime(config: PcieConfig): number {
  return ticksPerByte(config) * config.width;
}

/** Seconds a tick, exact. */
export function tick(config: PcieConfig): Rational {
  const { transfersPerSecond } = generationRow(config.generation);
  const { perBit } = byteTicks[family(config)];
  return rational(1, transfersPerSecond * perBit * config.width);
}

/** Time lost to SKP ordered sets, and before them the end-of-data-stream token of 128b/130b. */
export function compensation(config: PcieConfig): Compensation {
  const code = family(config);
  const { symbols } = skpSpacing[code];
  const symbolTime = ticksPerSymbolTime(config);
  if (code === '8b10b') {
    return { interval: config.skpInterval * symbolTime, lost: symbols * symbolTime };
  }
  const block = 16 * symbolTime;
  return {
    interval: config.skpInterval * block,
    lost: symbols * symbolTime + edsBytes * ticksPerByte(config),
  };
}

/** A packet as the closed form counts it: kind, payload, and bytes sent only to fill double words. */
export interface Packet {
  readonly kind: PacketKind;
  readonly wideAddress: boolean;
  readonly payloadBytes: number;
  readonly paddingBytes: number;
}

/** A charge vector by account index. */
export function noCharge(): number[] {
  return new Array<number>(accountCount).fill(0);
}

/**
 * Adds `count` packets to a charge vector and returns the ticks of one.
 * Ticks by account come from the layout's bytes by account and nothing else.
 */
export function charge(into: number[], packet: Packet, config: PcieConfig, count: number): number {
  const template = overheadTemplate(packet.kind, packet.wideAddress, config);
  const { own, code } = byteTicks[template.family];
  for (const { index, bytes } of template.rows) into[index]! += bytes * own * count;
  into[accountIndex.payload]! += packet.payloadBytes * own * count;
  into[accountIndex.padding]! += packet.paddingBytes * own * count;
  const bytes = template.total + packet.payloadBytes + packet.paddingBytes;
  into[accountIndex.line_code]! += bytes * code * count;
  return bytes * (own + code);
}

interface OverheadTemplate {
  readonly family: LineFamily;
  readonly rows: readonly { readonly index: number; readonly bytes: number }[];
  readonly total: number;
}

const templates = new Map<string, OverheadTemplate>();

/** The layout's overhead as an array, kept because ratings ask for it millions of times. */
function overheadTemplate(
  kind: PacketKind,
  wideAddress: boolean,
  config: PcieConfig,
): OverheadTemplate {
  const code = family(config);
  const key = `${kind}${wideAddress ? 4 : 3}${config.ecrc ? 'e' : ''}${code}`;
  const known = templates.get(key);
  if (known) return known;
  const options = { headerDw: wideAddress ? 4 : 3, ecrc: config.ecrc, family: code } as const;
  const rows = Object.entries(overheadBytes(kind, options)).map(([account, bytes]) => ({
    index: accountIndex[account as AccountId],
    bytes: bytes ?? 0,
  }));
  const template = { family: code, rows, total: rows.reduce((sum, row) => sum + row.bytes, 0) };
  templates.set(key, template);
  return template;
}
