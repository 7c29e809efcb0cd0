/**
 * What the VITA 42 dot standards put on the 114-pin connector, and what IEEE 1386.1 puts on the
 * 64-pin ones. `narrower` says what a link does when fewer lanes are wired than it has.
 */
import type { Cited } from './mezzanine-cited.ts';

export interface DotStandardRow extends Cited {
  readonly protocol:
    | 'PCI Express'
    | 'Serial RapidIO'
    | 'Parallel RapidIO'
    | 'HyperTransport'
    | 'Aurora'
    | '10 Gigabit Ethernet'
    | 'PCI'
    | 'PCI-X'
    | 'user I/O';
  readonly title: string;
  /** State of the document, as far as known. */
  readonly status: Cited & { readonly text: string };
  /**
   * `trains narrower`: the link comes up with the lanes it has; `needs every lane`: it does not
   * come up at all; `no lanes`: a bus, or plain signals.
   */
  readonly narrower: Cited & {
    readonly kind: 'trains narrower' | 'needs every lane' | 'no lanes';
    /** Widths the link can train to, widest first; only when it trains narrower. */
    readonly widths: readonly number[];
  };
}

const mirror = 'tickerdossier.com/wiki/switched-mezzanine-card';
const updates = 'vita.mil-embedded.com activity updates';

const read = (document: string, where: string): Cited => ({
  document,
  clause: `definition (read in ${where})`,
  basis: 'standard',
});
const recalled = (document: string, clause: string): Cited => ({
  document,
  clause: `${clause} (from memory)`,
  basis: 'memory',
});
const noLanes = (document: string): DotStandardRow['narrower'] => ({
  kind: 'no lanes',
  widths: [],
  document,
  clause: 'no serial lanes',
  basis: 'standard',
});
const everyLane = (document: string, clause: string): DotStandardRow['narrower'] => ({
  kind: 'needs every lane',
  widths: [],
  ...recalled(document, clause),
});

/** One row a protocol. */
export const dotStandardRows: readonly DotStandardRow[] = [
  {
    protocol: 'Parallel RapidIO',
    title: 'Parallel RapidIO on XMC',
    ...read('VITA 42.1', mirror),
    status: { text: 'draft, dormant', ...recalled('VITA 42.1', 'status') },
    narrower: everyLane('RapidIO parallel physical layer', 'port width is fixed'),
  },
  {
    protocol: 'Serial RapidIO',
    title: 'Serial RapidIO on XMC',
    ...read('VITA 42.2', mirror),
    status: { text: 'approved', ...read('VITA 42.2', 'an article on uat.arrow.de') },
    narrower: {
      kind: 'trains narrower',
      widths: [16, 8, 4, 2, 1],
      ...recalled('RapidIO LP-Serial physical layer', 'width fallback'),
    },
  },
  {
    protocol: 'PCI Express',
    title: 'PCI Express on XMC',
    ...read('ANSI/VITA 42.3', mirror),
    status: { text: 'ratified, 2014 edition', ...read('ANSI/VITA 42.3', updates) },
    narrower: {
      kind: 'trains narrower',
      widths: [16, 8, 4, 2, 1],
      document: 'PCI Express Base Specification',
      clause: 'link width negotiation; common practice: the link trains to the lanes wired',
      basis: 'practice',
    },
  },
  {
    protocol: 'HyperTransport',
    title: 'HyperTransport on XMC',
    ...recalled('VITA 42.4', 'definition'),
    status: { text: 'draft, never finished', ...recalled('VITA 42.4', 'status') },
    narrower: everyLane('HyperTransport I/O link specification', 'width set by firmware'),
  },
  {
    protocol: 'Aurora',
    title: 'Aurora on XMC',
    ...recalled('VITA 42.5', 'definition'),
    status: { text: 'draft, never finished', ...recalled('VITA 42.5', 'status') },
    narrower: everyLane('Aurora 8B/10B protocol', 'channel bonding of a fixed lane count'),
  },
  {
    protocol: '10 Gigabit Ethernet',
    title: '10 Gigabit Ethernet (XAUI, 4 lanes) on XMC',
    ...recalled('VITA 42.6', 'definition'),
    status: { text: 'ratified 2009 or later', ...recalled('VITA 42.6', 'status') },
    narrower: everyLane('IEEE 802.3 clause 48', 'XAUI has four lanes'),
  },
  {
    protocol: 'user I/O',
    title: 'General-purpose I/O on XMC; user I/O on P14',
    ...recalled('VITA 42.10', 'definition'),
    status: { text: 'draft, never finished', ...recalled('VITA 42.10', 'status') },
    narrower: noLanes('VITA 42.10'),
  },
  {
    protocol: 'PCI',
    title: 'PCI on PMC',
    ...read('IEEE 1386.1', 'interfacebus.com/PMC_Card_Pinout.html'),
    status: { text: 'published', ...recalled('IEEE 1386.1', 'status') },
    narrower: noLanes('IEEE 1386.1'),
  },
  {
    protocol: 'PCI-X',
    title: 'PCI-X on PMC',
    ...read('VITA 39', mirror),
    status: { text: 'published', ...recalled('VITA 39', 'status') },
    narrower: noLanes('VITA 39'),
  },
];

/** The row of a protocol. */
export function dotStandardRow(protocol: DotStandardRow['protocol']): DotStandardRow {
  const row = dotStandardRows.find((r) => r.protocol === protocol);
  if (row === undefined) throw new RangeError(`protocol: expected a known one; got ${protocol}`);
  return row;
}
