/** In what mode, clock and width the segment of a case comes up, and who holds it there. */
import {
  type CardPins,
  type Negotiated,
  negotiate,
  type SegmentLimits,
} from '../../links/pci/index.ts';
import type { BusSpeedId } from '../../standards/pci-bus.ts';
import type { Case } from '../case.ts';
import type { CarrierSite, SwitchPart } from '../parts.ts';
import type { CardBus, CardMode, SegmentMode, SiteBus } from '../pci.ts';

/** A case whose module sits on a parallel bus. */
export interface BusCase {
  readonly case: Case;
  readonly card: CardBus;
  readonly site: CarrierSite;
  readonly segment: SiteBus;
  /** The bridge between the segment and PCI Express; absent where the host is on the bus itself. */
  readonly bridge: SwitchPart | undefined;
}

/** A case on a parallel bus; undefined for any other. */
export function busCase(c: Case): BusCase | undefined {
  const card = c.module.pci;
  const site = c.carrier?.site;
  const segment = site?.pci;
  if (!card || !site || !segment) return undefined;
  const [first] = c.switches;
  const bridge = first?.bridge ? first : undefined;
  return { case: c, card, site, segment, bridge };
}

/** What keeps a bus case from being rated, a sentence each. */
export function refusedBus({ case: c, bridge }: BusCase): string[] {
  const found: string[] = [];
  const [first] = c.switches;
  if (first && !bridge) {
    found.push(
      `${first.id} stands next to the segment, and its part has no 'bridge': nothing joins the bus ` +
        'to PCI Express',
    );
  }
  for (const s of c.streams) {
    if ((s.moved_by?.value ?? 'module') !== 'module') {
      found.push(`${s.name}: loads and stores of a processor over a parallel bus are not modelled`);
    }
    if (s.peer_at) found.push(`${s.name}: peers of a card on a parallel bus are not modelled`);
  }
  return found;
}

const ids: Readonly<Record<SegmentMode, BusSpeedId>> = {
  'PCI 33': 'pci_33',
  'PCI 66': 'pci_66',
  'PCI-X 66': 'pcix_66',
  'PCI-X 100': 'pcix_100',
  'PCI-X 133': 'pcix_133',
};

/** Title of a speed as a case spells it. */
export function modeOf(speed: BusSpeedId): SegmentMode {
  return (Object.keys(ids) as SegmentMode[]).find((mode) => ids[mode] === speed)!;
}

/** The strap of a card's pins that says what it can do. */
function pinsOf(name: string, mode: CardMode, width: 32 | 64, pn3: boolean): CardPins {
  return {
    name,
    pcixcap: mode === 'PCI-X 133' ? 'open' : mode === 'PCI-X 66' ? 'resistor' : 'ground',
    m66en: mode === 'PCI 33' ? 'ground' : 'open',
    widthBits: width,
    pn3,
  };
}

/** Modes in the order of what they allow. */
const order: readonly SegmentMode[] = ['PCI 33', 'PCI 66', 'PCI-X 66', 'PCI-X 100', 'PCI-X 133'];

function slowest(modes: readonly SegmentMode[]): SegmentMode {
  return modes.reduce((a, b) => (order.indexOf(b) < order.indexOf(a) ? b : a));
}

/** How a segment comes up. */
export interface ComeUp extends Negotiated {
  readonly mode: SegmentMode;
  /** The segment's own limit, and what sets it. */
  readonly limit: SegmentMode;
  readonly limitBy: 'segment' | 'loading' | 'bridge';
  /** Width of the module's transfers. */
  readonly moduleBits: 32 | 64;
  /** Pn3 is fitted on both sides. */
  readonly pn3: boolean;
}

/** The slowest card sets the bus; a second card may lower its clock by loading. */
export function comeUp({ case: c, card, site, segment, bridge }: BusCase): ComeUp {
  const shared = segment.devices.length > 0 ? segment.limit_when_shared?.value : undefined;
  const asked: { mode: SegmentMode; by: ComeUp['limitBy'] }[] = [
    { mode: segment.limit.value, by: 'segment' },
    ...(shared ? [{ mode: shared, by: 'loading' as const }] : []),
    ...(bridge?.bridge?.limit ? [{ mode: bridge.bridge.limit.value, by: 'bridge' as const }] : []),
  ];
  const limit = slowest(asked.map(({ mode }) => mode));
  const limitBy = asked.find(({ mode }) => mode === limit)!.by;
  const id = ids[limit];
  const limits: SegmentLimits = {
    pcix: id === 'pci_33' || id === 'pci_66' ? 'none' : id,
    mhz66: id !== 'pci_33',
    widthBits: segment.width.value,
  };
  const bus = (connector: { carries: { value: string } } | undefined) =>
    connector?.carries.value === 'PCI' || connector?.carries.value === 'PCI-X';
  const pn3 = bus(c.module.connectors.P13) && bus(site.connectors.P13);
  const own = pinsOf(c.module.id, card.mode.value, card.width.value, pn3);
  const others = segment.devices.map((d) => pinsOf(d.name, d.mode.value, d.width.value, true));
  const found = negotiate(limits, [own, ...others]);
  return {
    ...found,
    mode: modeOf(found.speed),
    limit,
    limitBy,
    moduleBits: found.cards[0]!.widthBits,
    pn3,
  };
}
