/**
 * Ticks of PCI Express: one tick is the time of a bit on one lane divided by the lanes (8b/10b), an
 * eighth of that (128b/130b), or 4/59 of it (flits). A packet's byte striped over the lanes then takes
 * 10 ticks, of which 8 are its own and 2 the line code's; or 65, of which 64 are its own and 1 is its
 * share of the 2 block bits; or 128, of which 118 are its own, 7 its share of a flit's CRC and error
 * correction, and 3 its share of the data link bytes.
 * (SPEC 6.3 §4.2.1.1: ten bits a symbol; §4.2.2.1: 130 bits a block of sixteen symbols; §4.2.3.3.)
 */
import { type AccountId, accountCount, accountIndex } from '../../model/accounts.ts';
import { gcdNumber } from '../../numeric/gcd.ts';
import { type Rational, rational } from '../../quantity/index.ts';
import { generationRow, type LineCode, skpRule } from '../../standards/pcie-link.ts';
import type { Compensation } from '../fabric.ts';
import type { PcieConfig } from './config.ts';
import { flitBytes, flitFillBytes } from './flit.ts';
import { edsBytes, overheadBytes, type PacketKind } from './sizes.ts';

interface ByteTicks {
  /** Ticks of a byte that has the wire to itself. */
  readonly own: number;
  /** What the line or the flit adds to each byte of a packet, by account. */
  readonly shares: readonly { readonly index: number; readonly ticks: number }[];
  /** Own ticks and shares. */
  readonly packet: number;
  /** Ticks of a byte of an ordered set: ten bits at 8b/10b, its share of the block bits at 128b/130b. */
  readonly wire: number;
}

/** The coarsest tick by which the bytes of a flit divide evenly among those of packets. */
function flitTicks(): ByteTicks {
  const { packets, framing, acknowledgements } = flitBytes;
  const grain = gcdNumber(packets, gcdNumber(framing, acknowledgements));
  const own = packets / grain;
  return byteTicks(own, own, {
    framing: framing / grain,
    acknowledgements: acknowledgements / grain,
  });
}

function byteTicks(own: number, wire: number, added: { readonly [a in AccountId]?: number }) {
  const shares = Object.entries(added).map(([account, ticks]) => ({
    index: accountIndex[account as AccountId],
    ticks,
  }));
  return { own, wire, shares, packet: shares.reduce((sum, { ticks }) => sum + ticks, own) };
}

const ticksOf: Readonly<Record<LineCode, ByteTicks>> = {
  '8b10b': byteTicks(8, 10, { line_code: 2 }),
  '128b130b': byteTicks(64, 65, { line_code: 1 }),
  '1b1b': flitTicks(),
};

export function family(config: Pick<PcieConfig, 'generation'>): LineCode {
  return generationRow(config.generation).family;
}

/** Ticks of one byte of a packet with its share of the line code, or of its flit. */
export function ticksPerByte(config: Pick<PcieConfig, 'generation'>): number {
  return ticksOf[family(config)].packet;
}

/** Ticks of one symbol time: one byte on every lane. */
export function ticksPerSymbolTime(config: Pick<PcieConfig, 'generation' | 'width'>): number {
  return ticksOf[family(config)].wire * config.width;
}

/** Ticks in which one bit passes on any of the lanes, as a fraction. */
export function ticksPerBit(config: Pick<PcieConfig, 'generation'>): Rational {
  const code = family(config);
  return rational(ticksOf[code].own, 8);
}

/** Seconds a tick, exact. */
export function tick(config: Pick<PcieConfig, 'generation' | 'width'>): Rational {
  const { transfersPerSecond } = generationRow(config.generation);
  const { n, d } = ticksPerBit(config);
  return rational(d, n * BigInt(transfersPerSecond) * BigInt(config.width));
}

/** Time lost to SKP ordered sets, and before them the end-of-data-stream token of 128b/130b. */
export function compensation(config: PcieConfig): Compensation {
  const code = family(config);
  const { symbols } = skpRule(config.generation, config.width, config.clocking);
  const symbolTime = ticksPerSymbolTime(config);
  const set = symbols * symbolTime;
  switch (code) {
    case '8b10b':
      return { interval: config.skpInterval * symbolTime, lost: set };
    case '128b130b':
      return {
        interval: config.skpInterval * 16 * symbolTime,
        lost: set + edsBytes * ticksPerByte(config),
      };
    case '1b1b': {
      const flits = config.skpInterval * flitBytes.all * ticksOf[code].wire;
      return { interval: flits + set, lost: set, fixed: true };
    }
  }
}

/**
 * Ticks that follow a packet of `ticks` before another may start, when nothing follows at once. Without
 * flits the next start is on lane 0 of a later symbol time (SPEC 6.3 §4.2.1.2, §4.2.2.3.2), in flits
 * NOP packets fill to 16 bytes (§4.2.3.4.1). Packets that follow at once start on any lane of four.
 */
export function fillTicks(ticks: number, config: PcieConfig): number {
  const grain =
    family(config) === '1b1b' ? flitFillBytes * ticksPerByte(config) : ticksPerSymbolTime(config);
  return (grain - (ticks % grain)) % grain;
}

/**
 * Ticks for which a packet in flits waits, on average, until the flit that its last byte is in has arrived
 * whole: nothing of it is used before its CRC is checked (SPEC 6.3 §4.2.3). Its last byte may be anywhere
 * in the flit, so half of one; at least none, at most a whole one. 0 without flits.
 */
export function arrivalWait(config: Pick<PcieConfig, 'generation'>): number {
  return family(config) === '1b1b' ? (flitBytes.packets * ticksPerByte(config)) / 2 : 0;
}

/** A packet as the closed form counts it: kind, payload, and bytes sent only to fill double words. */
export interface Packet {
  readonly kind: PacketKind;
  readonly wideAddress: boolean;
  readonly payloadBytes: number;
  readonly paddingBytes: number;
  /** Prefixes in front of it; none when absent. */
  readonly prefixes?: number;
  /** Account of the whole packet, line code and flit apart, where it carries no stream's payload. */
  readonly whole?: AccountId;
}

/** A charge vector by account index. */
export function noCharge(): number[] {
  return new Array<number>(accountCount).fill(0);
}

/** Ticks of a packet. Ticks by account come from the layout's bytes by account and nothing else. */
export function packetTicks(packet: Packet, config: PcieConfig): number {
  const template = overheadTemplate(packet, config);
  const bytes = template.total + packet.payloadBytes + packet.paddingBytes;
  return bytes * template.ticks.packet;
}

/** Adds `count` packets to a charge vector and returns the ticks of one. */
export function charge(into: number[], packet: Packet, config: PcieConfig, count: number): number {
  const { ticks, rows, total } = overheadTemplate(packet, config);
  const { payloadBytes, paddingBytes, whole } = packet;
  const bytes = total + payloadBytes + paddingBytes;
  const own = ticks.own * count;
  if (whole === undefined) {
    for (const row of rows) into[row.index]! += row.bytes * own;
    into[accountIndex.payload]! += payloadBytes * own;
    into[accountIndex.padding]! += paddingBytes * own;
  } else {
    into[accountIndex[whole]]! += bytes * own;
  }
  for (const share of ticks.shares) into[share.index]! += bytes * share.ticks * count;
  return bytes * ticks.packet;
}

interface OverheadTemplate {
  readonly ticks: ByteTicks;
  readonly rows: readonly { readonly index: number; readonly bytes: number }[];
  readonly total: number;
}

const templates: Readonly<Record<LineCode, Map<PacketKind, OverheadTemplate[]>>> = {
  '8b10b': new Map(),
  '128b130b': new Map(),
  '1b1b': new Map(),
};

/** The layout's overhead as an array, kept because ratings ask for it millions of times. */
function overheadTemplate(packet: Packet, config: PcieConfig): OverheadTemplate {
  const { kind, wideAddress, prefixes = 0 } = packet;
  const partial = packet.paddingBytes > 0;
  const code = family(config);
  const flags = (wideAddress ? 1 : 0) + (config.ecrc ? 2 : 0) + (partial ? 4 : 0) + 8 * prefixes;
  let list = templates[code].get(kind);
  if (!list) {
    list = [];
    templates[code].set(kind, list);
  }
  const known = list[flags];
  if (known) return known;
  const headerDw = wideAddress ? 4 : 3;
  const options = { headerDw, ecrc: config.ecrc, family: code, prefixes, partial } as const;
  const rows = Object.entries(overheadBytes(kind, options)).map(([account, bytes]) => ({
    index: accountIndex[account as AccountId],
    bytes: bytes ?? 0,
  }));
  const total = rows.reduce((sum, row) => sum + row.bytes, 0);
  const template = { ticks: ticksOf[code], rows, total };
  list[flags] = template;
  return template;
}
