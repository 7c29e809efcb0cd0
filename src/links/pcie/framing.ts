/**
 * What the data link and physical layers put around a packet, for both line codes of non-flit mode,
 * and the check bits of the STP token.
 */
import type { AccountId } from '../../model/accounts.ts';
import { charged, type Field, type FieldShape } from './fields.ts';

/** 8b/10b at 2.5 and 5 GT/s (4.2.1); 128b/130b at 8, 16 and 32 GT/s (4.2.2). */
export type LineFamily = '8b10b' | '128b130b';

/** Special symbols of 8b/10b that frame packets, as byte values of K codes (4.2.1.1.2). */
export const specialSymbols = {
  /** K27.7, start of a transaction layer packet. */
  STP: 0xfb,
  /** K28.2, start of a data link layer packet. */
  SDP: 0x5c,
  /** K29.7, end of a packet. */
  END: 0xfd,
  /** K30.7, end of a nullified packet. */
  EDB: 0xfe,
  /** K23.7, fill of the lanes after a packet on links of eight lanes and more. */
  PAD: 0xf7,
} as const;

/** Fields before and after the packet proper; the packet's own bytes stand between them. */
export interface Framing {
  readonly before: readonly Field[];
  readonly after: readonly Field[];
}

const clauses = { symbols: '4.2.1.2.1', tokens: '4.2.2.3.1', link: '3.6.2.1' } as const;

const lcrc: FieldShape = { name: 'LCRC', bits: 32, clause: clauses.link };

/** The 2 bytes that the link CRC starts with, whether or not they are sent as such (4.2.2.3.1). */
export const sequenceShapes: readonly FieldShape[] = [
  { name: 'R', bits: 4, clause: clauses.link, fixed: 0 },
  { name: 'TLP Sequence Number', bits: 12, clause: clauses.link },
];

/** STP token. TLP Length counts double words from the token to the link CRC, both included. */
export const stpToken: readonly FieldShape[] = [
  { name: 'TLP Length[3:0]', bits: 4, clause: clauses.tokens },
  { name: 'STP', bits: 4, clause: clauses.tokens, fixed: 0b1111 },
  { name: 'Frame Parity', bits: 1, clause: clauses.tokens },
  { name: 'TLP Length[10:4]', bits: 7, clause: clauses.tokens },
  { name: 'FCRC', bits: 4, clause: clauses.tokens },
  { name: 'TLP Sequence Number', bits: 12, clause: clauses.tokens },
];

/** SDP token, start of a data link layer packet. */
export const sdpToken: readonly FieldShape[] = [
  { name: 'SDP', bits: 16, clause: clauses.tokens, fixed: 0xf0ac },
];

/** EDB token, appended to a nullified packet and not counted in its TLP Length. */
export const edbToken: readonly FieldShape[] = [
  { name: 'EDB', bits: 32, clause: clauses.tokens, fixed: 0xc0c0c0c0 },
];

/** EDS token, the last double word across the link before an ordered set. */
export const edsToken: readonly Field[] = charged('clock_compensation', [
  { name: 'EDS', bits: 32, clause: clauses.tokens, fixed: 0x1f809000 },
]);

/** IDL token: one symbol of logical idle. */
export const idlToken: readonly Field[] = charged('idle', [
  { name: 'IDL', bits: 8, clause: clauses.tokens, fixed: 0x00 },
]);

function symbol(name: keyof typeof specialSymbols): FieldShape {
  return { name, bits: 8, clause: clauses.symbols, fixed: specialSymbols[name] };
}

/** Framing of a transaction layer packet, charged to one account. */
export function tlpFraming(family: LineFamily, account: AccountId): Framing {
  return family === '8b10b'
    ? {
        before: charged(account, [symbol('STP'), ...sequenceShapes]),
        after: charged(account, [lcrc, symbol('END')]),
      }
    : { before: charged(account, stpToken), after: charged(account, [lcrc]) };
}

/** Framing of a data link layer packet, charged to one account. */
export function dllpFraming(family: LineFamily, account: AccountId): Framing {
  return family === '8b10b'
    ? { before: charged(account, [symbol('SDP')]), after: charged(account, [symbol('END')]) }
    : { before: charged(account, sdpToken), after: [] };
}

/** TLP Length bits that enter each FCRC bit, C[0] to C[3] (4.2.2.3.1). */
const frameCrcTerms: readonly (readonly number[])[] = [
  [10, 7, 6, 4, 2, 1, 0],
  [10, 9, 7, 5, 4, 3, 2],
  [9, 8, 6, 4, 3, 2, 1],
  [8, 7, 5, 3, 2, 1, 0],
];

function evenParity(value: number): number {
  let parity = 0;
  for (let rest = value; rest !== 0; rest >>>= 1) parity ^= rest & 1;
  return parity;
}

function requireLength(length: number): void {
  if (!Number.isInteger(length) || length < 0 || length > 0x7ff) {
    throw new RangeError(`TLP Length: expected an integer 0 to 2047, got ${length}`);
  }
}

/**
 * Frame CRC of an STP token, 4 bits, by the exclusive-or equations of 4.2.2.3.1.
 * @param length TLP Length, 11 bits.
 * @throws RangeError outside 0 to 2047.
 */
export function frameCrc(length: number): number {
  requireLength(length);
  return frameCrcTerms.reduce((code, terms, bit) => {
    const mask = terms.reduce((sum, term) => sum | (1 << term), 0);
    return code | (evenParity(length & mask) << bit);
  }, 0);
}

/**
 * Frame Parity of an STP token: even parity over TLP Length and Frame CRC (4.2.2.3.1).
 * @param length TLP Length, 11 bits.
 * @throws RangeError outside 0 to 2047.
 */
export function frameParity(length: number): number {
  return evenParity(length) ^ evenParity(frameCrc(length));
}
