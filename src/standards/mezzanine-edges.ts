/** Mechanics beyond the seat: length, outer side, I/O zone; and the loading of a PCI segment. */
import type { Cited } from './mezzanine-cited.ts';

/** Length of a module by its build, millimetres. */
export const lengthRows: readonly (Cited & {
  readonly cooling: 'air' | 'conduction';
  readonly length: number;
})[] = [
  {
    cooling: 'air',
    length: 149,
    document: 'IEEE 1386',
    clause: 'module size (read in interfacebus.com/PMC_Card_Pinout.html and memim.com, agreeing)',
    basis: 'standard',
  },
  {
    cooling: 'conduction',
    length: 143.75,
    document: 'VITA 20',
    clause: 'conduction-cooled module, 143.75 mm × 74 mm without bezel (from memory)',
    basis: 'memory',
  },
];

const slink = 'hsi.web.cern.ch/HSI/s-link/spec/spec/s-link-37.html';

/** Module board and the parts on its outer side together, millimetres. */
export const outerSideRow: Cited & { readonly most: number } = {
  most: 3.5,
  document: 'IEEE 1386',
  clause: `board and side 2 together (read in the S-LINK specification s5.3, ${slink})`,
  basis: 'standard',
};

/** Parts in the I/O zone at 10 mm, millimetres. */
export const ioZoneRow: Cited & { readonly module: number; readonly carrier: number } = {
  module: 9.8,
  carrier: 0,
  document: 'IEEE 1386',
  clause: `I/O zone: module 9.80 mm, carrier none (read in the S-LINK specification s5.3, ${slink})`,
  basis: 'standard',
};

/** Front connectors of a conduction build. */
export const frontRow: Cited = {
  document: 'common practice; conduction outline in VITA 20',
  clause: 'a conduction build has no bezel opening (no source)',
  basis: 'practice',
};

/** Boards from slot to slot. */
export const pitchRow: Cited = {
  document: 'common practice',
  clause: 'side 2 + board + stack + module board + its side 2 within the slot pitch (no source)',
  basis: 'practice',
};

/** Loads that a PCI segment takes by its clock, megahertz; slower clocks are not in the table. */
export const busLoadRows: readonly (Cited & {
  readonly megahertz: number;
  readonly loads: number;
})[] = (
  [
    [133, 1],
    [100, 2],
    [66, 4],
  ] as const
).map(([megahertz, loads]) => ({
  megahertz,
  loads,
  document: 'VITA 39 and the PCI specifications',
  clause: `about ${loads} load${loads === 1 ? '' : 's'} at ${megahertz} MHz (from memory)`,
  basis: 'memory' as const,
}));

/** The key pin of a PMC carrier. */
export const keyRow: Cited = {
  document: 'IEEE 1386.1',
  clause: 'signalling voltage fixed by a key on the carrier (read in memim.com)',
  basis: 'standard',
};
