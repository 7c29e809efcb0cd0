/**
 * Insertion loss that a whole PCI Express channel may have, from transmitter to receiver, at half the
 * line rate (a quarter where a symbol carries two bits).
 */
import type { Cited } from './mezzanine-cited.ts';

export interface ChannelLossRow extends Cited {
  readonly generation: 1 | 2 | 3 | 4 | 5 | 6;
  /** Decibels, as decimal text. */
  readonly loss: string;
  /** Gigahertz. */
  readonly frequency: number;
}

const recalled = { document: 'PCI Express Base Specification', basis: 'memory' } as const;

/** One row a generation. */
export const channelLossRows: readonly ChannelLossRow[] = [
  {
    generation: 1,
    loss: '13.2',
    frequency: 1.25,
    document: 'PCI Express Base Specification 1.1',
    clause: '20 log(175 mV / 800 mV), eye at the receiver over the least at the transmitter',
    basis: 'practice',
  },
  {
    generation: 2,
    loss: '13.2',
    frequency: 2.5,
    document: 'PCI Express Base Specification 2.0',
    clause: 'no budget stated; that of 2.5 GT/s, as application notes use it (from memory)',
    basis: 'memory',
  },
  { generation: 3, loss: '22', frequency: 4, ...recalled, clause: '8 GT/s channel (from memory)' },
  { generation: 4, loss: '28', frequency: 8, ...recalled, clause: '16 GT/s channel (from memory)' },
  {
    generation: 5,
    loss: '36',
    frequency: 16,
    document: 'PCI Express Base Specification 5.0',
    clause: '36 dB at 16 GHz (read in a public note at asteralabs.com, tag PCI-SIG)',
    basis: 'practice',
  },
  {
    generation: 6,
    loss: '32',
    frequency: 16,
    ...recalled,
    clause: '64 GT/s channel (from memory)',
  },
];

/** The row of a generation. */
export function channelLossRow(generation: ChannelLossRow['generation']): ChannelLossRow {
  const row = channelLossRows.find((r) => r.generation === generation);
  if (row === undefined) throw new RangeError(`channel: no row for generation ${generation}`);
  return row;
}

/** Part of a budget that many designers keep for spread of boards, heat and crosstalk. */
export const lossMarginRow: Cited & { readonly fraction: string } = {
  fraction: '0.1',
  document: 'common practice',
  clause: '10 % of the budget kept (asteralabs.com, frequently asked questions, 10 to 20 %)',
  basis: 'practice',
};
