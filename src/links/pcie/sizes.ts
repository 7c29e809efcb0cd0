/**
 * Byte counts of packets on the wire, looked up from the layouts and nowhere typed again. Bytes are
 * counted before the line code: one symbol of 8b/10b is one byte here.
 */
import { type DllpKind, dllpAccounts, dllpLayout } from './dllp.ts';
import { type AccountBytes, byteLength, bytesByAccount, type Field } from './fields.ts';
import { dllpFraming, edsToken, type LineFamily, tlpFraming } from './framing.ts';
import {
  carriesPayload,
  digestLayout,
  type HeaderDw,
  headerLayout,
  payloadBytesMax,
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
  readonly family: LineFamily;
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
 * header of the kinds that carry one.
 */
export function wireLayout(kind: PacketKind, options: SizeOptions): readonly Field[] {
  const { headerDw, ecrc, family } = options;
  if (isDllp(kind)) {
    const { before, after } = dllpFraming(family, dllpAccounts[kind]);
    return [...before, ...dllpLayout(kind), ...after];
  }
  const { before, after } = tlpFraming(family, tlpAccounts[kind].framing);
  const digest = ecrc ? digestLayout(kind) : [];
  return [...before, ...headerLayout(kind, headerDw), ...digest, ...after];
}

interface Sizes {
  readonly accounts: AccountBytes;
  readonly total: number;
}

const known = new Map<string, Sizes>();

function sizesOf(kind: PacketKind, options: SizeOptions): Sizes {
  const key = `${kind} ${options.headerDw} ${options.ecrc} ${options.family}`;
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
