/**
 * Bus commands on C/BE[3:0]# in the address phase: PCI Local Bus Specification 3.0, clause 3.1.1, and
 * PCI-X Addendum 1.0b, clause on commands; both recalled from memory. How many bytes a data phase moves
 * hangs on them.
 */
import type { BusMode } from '../../standards/pci-bus.ts';

export interface BusCommand {
  readonly code: number;
  readonly title: string;
  /** Which way data goes, seen from the master; `none` of a broadcast or an address cycle. */
  readonly data: 'read' | 'write' | 'none';
  /**
   * What tells the bytes of a data phase: byte enables of the same clock; those of the attribute phase;
   * or first address and byte count.
   */
  readonly bytesBy: 'enables' | 'attribute enables' | 'count';
}

type Row = readonly [string, BusCommand['data'], BusCommand['bytesBy']];

const conventional: readonly Row[] = [
  ['Interrupt Acknowledge', 'read', 'enables'],
  ['Special Cycle', 'none', 'enables'],
  ['I/O Read', 'read', 'enables'],
  ['I/O Write', 'write', 'enables'],
  ['reserved 0100', 'none', 'enables'],
  ['reserved 0101', 'none', 'enables'],
  ['Memory Read', 'read', 'enables'],
  ['Memory Write', 'write', 'enables'],
  ['reserved 1000', 'none', 'enables'],
  ['reserved 1001', 'none', 'enables'],
  ['Configuration Read', 'read', 'enables'],
  ['Configuration Write', 'write', 'enables'],
  ['Memory Read Multiple', 'read', 'enables'],
  ['Dual Address Cycle', 'none', 'enables'],
  ['Memory Read Line', 'read', 'enables'],
  ['Memory Write and Invalidate', 'write', 'enables'],
];

const extended: readonly Row[] = [
  ['Interrupt Acknowledge', 'read', 'attribute enables'],
  ['Special Cycle', 'none', 'attribute enables'],
  ['I/O Read', 'read', 'attribute enables'],
  ['I/O Write', 'write', 'attribute enables'],
  ['reserved 0100', 'none', 'attribute enables'],
  ['reserved 0101', 'none', 'attribute enables'],
  ['Memory Read DWORD', 'read', 'attribute enables'],
  ['Memory Write', 'write', 'enables'],
  ['Alias to Memory Read Block', 'read', 'count'],
  ['Alias to Memory Write Block', 'write', 'count'],
  ['Configuration Read', 'read', 'attribute enables'],
  ['Configuration Write', 'write', 'attribute enables'],
  ['Split Completion', 'write', 'count'],
  ['Dual Address Cycle', 'none', 'enables'],
  ['Memory Read Block', 'read', 'count'],
  ['Memory Write Block', 'write', 'count'],
];

const rows = (table: readonly Row[]): readonly BusCommand[] =>
  table.map(([title, data, bytesBy], code) => ({ code, title, data, bytesBy }));

const tables: Readonly<Record<BusMode, readonly BusCommand[]>> = {
  pci: rows(conventional),
  pcix: rows(extended),
};

/** The commands of a mode by code, 0 to 15. */
export function busCommandTable(mode: BusMode): readonly BusCommand[] {
  return tables[mode];
}

/** Code of a dual address cycle in both modes. */
export const DUAL_ADDRESS = 0xd;
