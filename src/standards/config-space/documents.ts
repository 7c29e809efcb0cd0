/** Documents that the register tables cite. */
import type { Citation } from './types.ts';

export const PCIE = 'PCI Express Base Specification, revision 6.3';
export const PCI = 'PCI Local Bus Specification, revision 3.0';
export const PCI_BRIDGE = 'PCI-to-PCI Bridge Architecture Specification, revision 1.2';
export const PCI_X = 'PCI-X Protocol Addendum to the PCI Local Bus Specification, revision 2.0a';
export const PCI_PM = 'PCI Bus Power Management Interface Specification, revision 1.2';
export const CARDBUS = 'PC Card Standard, volume 7: PCI to CardBus bridge';
export const CODE_AND_ID = 'PCI Code and ID Assignment Specification, revision 1.16';

/**
 * Layout confirmed bit by bit in published register lists (docs/registers.md, "Basis"); the number of
 * the clause is from memory.
 */
export function confirmed(document: string, clause: string): Citation {
  return { document, clause, basis: 'standard' };
}

/** Layout or clause recalled, not confirmed in a text. */
export function recalled(document: string, clause: string): Citation {
  return { document, clause, basis: 'memory' };
}
