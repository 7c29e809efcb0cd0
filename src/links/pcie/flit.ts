/**
 * The flit of 64 GT/s: 256 bytes across the link, of which 236 belong to packets. Packets follow each
 * other in those without framing of their own. SPEC 6.3 §4.2.3.3.
 *
 * Limits: no byte-level codec of flits; at most eight packets begin in either half of a flit, which
 * only a run of bare 3 DW requests could exceed and which is not counted.
 */
import type { AccountId } from '../../model/accounts.ts';
import { charged, type Field, type FieldShape } from './fields.ts';
import { type HeaderDw, headerDwOf, type TlpKind, tlpAccounts } from './tlp.ts';

interface FlitPart {
  readonly name: string;
  readonly bytes: number;
  /** Absent for the bytes of packets, which their own layouts charge. */
  readonly account?: AccountId;
  readonly clause: string;
}

/** Parts of a flit in order of transmission. */
export const flitLayout: readonly FlitPart[] = [
  { name: 'TLP bytes', bytes: 236, clause: '4.2.3.3' },
  { name: 'DLP', bytes: 6, account: 'acknowledgements', clause: '4.2.3.3, 3.6.2.1' },
  { name: 'CRC', bytes: 8, account: 'framing', clause: '4.2.3.3' },
  { name: 'ECC', bytes: 6, account: 'framing', clause: '4.2.3.3' },
];

function bytesOf(belongs: (part: FlitPart) => boolean): number {
  return flitLayout.filter(belongs).reduce((sum, part) => sum + part.bytes, 0);
}

/** Bytes of a flit by what they serve. */
export const flitBytes = {
  all: bytesOf(() => true),
  packets: bytesOf((part) => part.account === undefined),
  acknowledgements: bytesOf((part) => part.account === 'acknowledgements'),
  framing: bytesOf((part) => part.account === 'framing'),
} as const;

/** NOP packets fill up to the next multiple of this many bytes (4.2.3.4.1). */
export const flitFillBytes = 16;

/**
 * Header of a packet in flits as one field: 3 or 4 double words as in non-flit mode (table 2-5), and one
 * more of orthogonal header content (OHC-A1) where a write has byte enables of its own (table 2-6).
 */
export function flitHeader(kind: TlpKind, headerDw: HeaderDw, partial: boolean): readonly Field[] {
  const shapes: FieldShape[] = [
    { name: 'Header Base', bits: 32 * headerDwOf(kind, headerDw), clause: 'table 2-5' },
  ];
  if (partial) shapes.push({ name: 'OHC-A1', bits: 32, clause: 'table 2-6' });
  return charged(tlpAccounts[kind].header, shapes);
}
