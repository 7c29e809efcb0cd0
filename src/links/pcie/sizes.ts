/**
 * Byte counts of packets on the wire, looked up from the layouts and nowhere typed again. Bytes are
 * counted before the line code: one symbol of 8b/10b is one byte here.
 */
import { type DllpKind, dllpAccounts, dllpLayout } from './dllp.ts';
import { type AccountBytes, byteLength, bytesByAccount, type Field } from './fields.ts';
import { flitHeader } from './flit.ts';
import { dllpFraming, edsToken, type LineFamily, tlpFraming } from './framing.ts';
import {
  carriesPayload,
  digestLayout,
  type HeaderDw,
  headerLayout,
  messageLayout,
  payloadBytesMax,
  prefixLayout,
  type TlpKind,
  tlpAccounts,
} from './tlp.ts';

export type { AccountBytes } from './fields.ts';

/** Every packet that has a layout. */
export type PacketKind = TlpKind | DllpKind;

/** What decides the size of a packet besides its kind and payload. */
export interface SizeOptions {
  /** Header length of memory requests; other kinds have the one that the standard fixes. */
  readonly headerDw: HeaderDw;
  /** True where the end-to-end CRC is generated; without effect on data link layer packets. */
  readonly ecrc: boolean;
  /** `1b1b`: packets in flits, without framing; what a flit spends around them is not theirs. */
  readonly family: LineFamily | '1b1b';
  /** Prefixes in front of a transaction layer packet; none when absent. */
  readonly prefixes?: number;
  /** True where a write's first or last double word is not written whole; matters in flits only. */
  readonly partial?: boolean;
}

function isDllp(kind: PacketKind): kind is DllpKind {
  return kind in dllpAccounts;
}

/** True for the kinds that a payload of a stream follows. */
export function hasPayload(kind: PacketKind): boolean {
  return !isDllp(kind) && carriesPayload(kind);
}

/**
 * All fields of a packet on the wire in order of transmission, payload left out: it follows the
 * header of the kinds that carry one. In flits a data link layer packet has none of its own.
 */
export function wireLayout(kind: PacketKind, options: SizeOptions): readonly Field[] {
  const { headerDw, ecrc, family } = options;
  if (isDllp(kind)) {
    if (family === '1b1b') return [];
    const { before, after } = dllpFraming(family, dllpAccounts[kind]);
    return [...before, ...dllpLayout(kind), ...after];
  }
  const prefixes = prefixLayout(kind, options.prefixes ?? 0);
  const digest = ecrc ? digestLayout(kind) : [];
  if (family === '1b1b') {
    const partial = options.partial === true && kind === 'MWr';
    return [...prefixes, ...flitHeader(kind, headerDw, partial), ...messageLayout(kind), ...digest];
  }
  const { before, after } = tlpFraming(family, tlpAccounts[kind].framing);
  return [...before, ...prefixes, ...headerLayout(kind, headerDw), ...digest, ...after];
}

interface Sizes {
  readonly accounts: AccountBytes;
  readonly total: number;
}

const known = new Map<string, Sizes>();

function sizesOf(kind: PacketKind, options: SizeOptions): Sizes {
  const { headerDw, ecrc, family, prefixes = 0, partial = false } = options;
  const key = `${kind} ${headerDw} ${ecrc} ${family} ${prefixes} ${partial}`;
  const found = known.get(key);
  if (found) return found;
  const layout = wireLayout(kind, options);
  const sizes = { accounts: Object.freeze(bytesByAccount(layout)), total: byteLength(layout) };
  known.set(key, sizes);
  return sizes;
}

/**
 * Bytes of one packet by account, all but the payload, framing and CRC included. The data of an
 * `MsiWrite` is no stream's payload and is counted here.
 */
export function overheadBytes(kind: PacketKind, options: SizeOptions): AccountBytes {
  return sizesOf(kind, options).accounts;
}

/**
 * Bytes of one packet on the wire.
 * @param options `payloadBytes`: payload after padding to whole double words, 4 to 4096 for `MWr`
 *   and `CplD`, 0 for every other kind.
 * @throws RangeError for a payload that such a packet cannot carry.
 */
export function wireBytes(
  kind: PacketKind,
  options: SizeOptions & { readonly payloadBytes: number },
): number {
  const { payloadBytes } = options;
  if (!hasPayload(kind)) {
    if (payloadBytes !== 0)
      throw new RangeError(`${kind}: expected no payload, got ${payloadBytes}`);
  } else if (payloadBytes % 4 !== 0 || payloadBytes < 4 || payloadBytes > payloadBytesMax) {
    throw new RangeError(
      `${kind}: expected payload bytes 4 to ${payloadBytesMax} in steps of 4, got ${payloadBytes}`,
    );
  }
  return sizesOf(kind, options).total + payloadBytes;
}

/** Bytes of the EDS token: once per link, not per lane, before each ordered set of 128b/130b. */
export const edsBytes: number = byteLength(edsToken);
