/** What mode, clock and width a segment comes up with: every card present has a say. */
import type { BusSpeedId } from '../../standards/pci-bus.ts';

/**
 * A card as its edge or its Pn connectors present it. PCIXCAP: to ground (conventional only), through a
 * resistor to ground (PCI-X 66), open (PCI-X 133). M66EN: to ground (33 MHz) or open (66 MHz).
 * PCI Local Bus Specification 3.0, clause 7.5.1, and PCI-X Addendum, clause on initialization: from
 * memory.
 */
export interface CardPins {
  readonly name: string;
  readonly pcixcap: 'ground' | 'resistor' | 'open';
  readonly m66en: 'ground' | 'open';
  readonly widthBits: 32 | 64;
  /** Mezzanine cards: Pn3 is fitted on both sides. Without it there are no AD[63:32]. */
  readonly pn3?: boolean;
}

/** What the segment itself can do. */
export interface SegmentLimits {
  /** Fastest clock of its PCI-X mode, or none. */
  readonly pcix: 'none' | 'pcix_66' | 'pcix_100' | 'pcix_133';
  readonly mhz66: boolean;
  readonly widthBits: 32 | 64;
}

export interface Negotiated {
  readonly speed: BusSpeedId;
  /** Names of what holds the speed down; empty where the segment itself does. */
  readonly speedBy: readonly string[];
  /** Width of the segment's wiring; each transaction is as wide as both its ends. */
  readonly widthBits: 32 | 64;
  readonly cards: readonly { readonly name: string; readonly widthBits: 32 | 64 }[];
}

/**
 * Mode and clock of a segment at reset: the slowest card sets them for all.
 *
 * @returns what it comes up with, and which cards hold it there
 */
export function negotiate(limits: SegmentLimits, cards: readonly CardPins[]): Negotiated {
  const widths = cards.map(({ name, widthBits, pn3 = true }) => ({
    name,
    widthBits: pn3 && limits.widthBits === 64 ? widthBits : (32 as const),
  }));
  const common = { widthBits: limits.widthBits, cards: widths };
  const conventional = named(cards, (c) => c.pcixcap === 'ground');
  const slow = named(cards, (c) => c.pcixcap === 'resistor');
  if (limits.pcix !== 'none' && conventional.length === 0) {
    const held = slow.length > 0 && limits.pcix !== 'pcix_66';
    return {
      speed: slow.length > 0 ? 'pcix_66' : limits.pcix,
      speedBy: held ? slow : [],
      ...common,
    };
  }
  const at33 = named(cards, (c) => c.m66en === 'ground');
  const speed = limits.mhz66 && at33.length === 0 ? 'pci_66' : 'pci_33';
  if (limits.pcix !== 'none') return { speed, speedBy: conventional, ...common };
  return { speed, speedBy: limits.mhz66 ? at33 : [], ...common };
}

function named(cards: readonly CardPins[], has: (card: CardPins) => boolean): string[] {
  return cards.filter(has).map((card) => card.name);
}
