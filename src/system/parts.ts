/**
 * Parts as the rest of the tool sees them: one build variant chosen, case overrides applied, every
 * quantity parsed and still carrying its basis and place. Keys are spelled as in the YAML files.
 */
import type { PartCalibration } from './calibration.ts';
import type { DmaEngine } from './dma.ts';
import type { Given, GivenQuantity } from './given.ts';
import type { LatencyDistribution } from './latency.ts';
import type { BridgeBus, CardBus, SiteBus } from './pci.ts';
import type { PinUses, RearRoutings } from './pins.ts';
import type { Rail } from './rails.ts';
import type { CarrierSeat, HostStart, ModuleSeat, SiteSeat } from './seating.ts';
import type { ModuleSignals, SiteSignals } from './signals.ts';
import type { CarrierHeat, Endurance, HotPart, Surroundings } from './thermal.ts';

export { type Rail, rails } from './rails.ts';

/** P11 to P14 are also written Pn1 to Pn4 or J11 to J14 (carrier side). */
export const connectorIds = ['P11', 'P12', 'P13', 'P14', 'P15', 'P16'] as const;
export type ConnectorId = (typeof connectorIds)[number];

/** `VITA 42`: the original XMC connector; `VITA 61` and `VITA 88`: its successors; `CMC`: 64-pin. */
export const connectorFamilies = ['CMC', 'VITA 42', 'VITA 61', 'VITA 88'] as const;
export type ConnectorFamily = (typeof connectorFamilies)[number];

export const protocols = [
  'PCI Express',
  'Serial RapidIO',
  'Parallel RapidIO',
  'HyperTransport',
  'Aurora',
  '10 Gigabit Ethernet',
  'PCI',
  'PCI-X',
  'user I/O',
] as const;
export type Protocol = (typeof protocols)[number];

export type Cooling = 'air' | 'conduction';
export type Outline = 'single' | 'double';
export type Role = 'endpoint' | 'root complex' | 'either';
export type Generation = 1 | 2 | 3 | 4 | 5 | 6;
export type Width = 1 | 2 | 4 | 8 | 12 | 16 | 32;

/** One connector, on the module (what it uses) or on a carrier site (what is wired to it). */
export interface Connector {
  readonly family: Given<ConnectorFamily>;
  readonly carries: Given<Protocol>;
  /** Serial lanes used by the module, or wired by the carrier; absent for PCI and user I/O. */
  readonly lanes?: Given<number>;
  /** Rated line rate of this connector as its maker states it; otherwise the family's table row. */
  readonly rated_line_rate?: GivenQuantity;
  /** User I/O signals used (module) or routed to the backplane (carrier). */
  readonly signals?: Given<number>;
  /** What the board does with single pins, where its part lists them. */
  readonly pins?: PinUses;
}

/** The PCI Express port of a module, switch or host. */
export interface PcieFunction {
  readonly generation: Given<Generation>;
  readonly width: Given<Width>;
  readonly role: Given<Role>;
  /** Max_Payload_Size Supported, bytes. */
  readonly Max_Payload_Size: GivenQuantity;
  /** Read Completion Boundary when this port completes reads, bytes. */
  readonly Read_Completion_Boundary?: GivenQuantity;
  /** Largest completion payload this port makes, bytes; between the boundary and the payload size. */
  readonly completion_payload?: GivenQuantity;
  /** Time from the end of a request at this port to the start of its completion. */
  readonly read_latency?: GivenQuantity;
  /** Advertised receive credits at initialisation; headers count packets, data counts 16 B units. */
  readonly posted_header_credits?: GivenQuantity;
  readonly posted_data_credits?: GivenQuantity;
  readonly nonposted_header_credits?: GivenQuantity;
  /** Time from the end of a packet at this receiver to its credit being usable at the sender. */
  readonly credit_return?: GivenQuantity;
  /** Received packets covered by one Ack. */
  readonly packets_per_ack?: GivenQuantity;
  /** Received packets covered by one UpdateFC of each credit type used. */
  readonly packets_per_update?: GivenQuantity;
  /** SKP ordered set spacing: symbol times (2.5, 5 GT/s) or blocks (8 GT/s and above). */
  readonly skp_interval?: GivenQuantity;
  readonly ecrc?: Given<boolean>;
  /** Tags it can have in use as a requester: 32, 256, 768 or 15360 (5, 8, 10 and 14 bits). */
  readonly tags?: Given<32 | 256 | 768 | 15_360>;
  /** Takes part in scaled flow control; without it at most 127 headers and 2047 data units count. */
  readonly scaled_flow_control?: Given<boolean>;
  /** Credits of further virtual channels, by number 1 to 7; channel 0 is given above. */
  readonly virtual_channels?: Readonly<Record<string, ChannelCredits>>;
  /** Time to leave L0s and L1, as the Link Capabilities state them. */
  readonly L0s_exit?: GivenQuantity;
  readonly L1_exit?: GivenQuantity;
}

/** Receive credits of one virtual channel. */
export interface ChannelCredits {
  readonly posted_header_credits?: GivenQuantity;
  readonly posted_data_credits?: GivenQuantity;
  readonly nonposted_header_credits?: GivenQuantity;
}

export interface RailDemand {
  readonly continuous: GivenQuantity;
  readonly peak?: GivenQuantity;
}

export interface PartHead {
  readonly id: string;
  readonly title: string;
  /** Chosen build option by name, with the choices there were. */
  readonly options: Readonly<Record<string, { chosen: string; choices: readonly string[] }>>;
}

export interface ModulePart extends PartHead, ModuleSeat, Endurance {
  readonly kind: 'module';
  readonly form: Given<'XMC' | 'PMC'>;
  readonly outline: Given<Outline>;
  readonly cooling: Given<Cooling>;
  readonly stacking_height: GivenQuantity;
  /** Tallest part on the side that faces the carrier. */
  readonly side1_height?: GivenQuantity;
  readonly connectors: Readonly<Partial<Record<ConnectorId, Connector>>>;
  readonly pcie?: PcieFunction;
  /** How it drives a parallel bus: a PMC. */
  readonly pci?: CardBus;
  /** Clock, reset, presence, test and management. */
  readonly signals?: ModuleSignals;
  readonly dma?: DmaEngine;
  /** What its measured values were measured on. */
  readonly calibration?: PartCalibration;
  /** VPWR voltages accepted, for example 4.75..12.6 V, or 5 V. */
  readonly vpwr_accepts?: GivenQuantity;
  readonly supplies: Readonly<Partial<Record<Rail, RailDemand>>>;
  readonly hot_parts?: Readonly<Record<string, HotPart>>;
}

export interface CarrierSite extends SiteSeat {
  readonly outline: Given<Outline>;
  readonly cooling: Given<Cooling>;
  readonly stacking_height: GivenQuantity;
  /** Tallest carrier part under the module. */
  readonly part_height?: GivenQuantity;
  readonly connectors: Readonly<Partial<Record<ConnectorId, Connector>>>;
  /** Where P14 and P16 leave the board. */
  readonly rear?: RearRoutings;
  /** Voltage on VPWR at this site. */
  readonly vpwr?: GivenQuantity;
  /** Per-rail current available. */
  readonly supplies: Readonly<Partial<Record<Rail, RailDemand>>>;
  /** Total continuous power available to the module. */
  readonly total_power?: GivenQuantity;
  /** The parallel bus that reaches the site. */
  readonly pci?: SiteBus;
  /** Clock, reset, presence, test and management. */
  readonly signals?: SiteSignals;
  /** Switches between this site and the host, nearest the module first; part ids. */
  readonly through: readonly Given<string>[];
}

export interface CarrierPart extends PartHead, CarrierSeat, CarrierHeat, Endurance {
  readonly kind: 'carrier';
  /** For people: `3U VPX`, `6U VME`. */
  readonly board: string;
  readonly sites: Readonly<Record<string, CarrierSite>>;
}

export interface HostPart extends PartHead {
  readonly kind: 'host';
  readonly pcie: PcieFunction;
  readonly start?: HostStart;
  /** Distribution of the time a read takes, in place of one `read_latency` of its port. */
  readonly read_latency_distribution?: LatencyDistribution;
  /** Added to a read of memory on the other processor socket. */
  readonly remote_latency?: GivenQuantity;
  /** Address translation for devices, where it is switched on. */
  readonly translation?: Translation;
  /** What a processor does when it moves the data itself. */
  readonly processor?: ProcessorAccess;
  /** What its measured values were measured on. */
  readonly calibration?: PartCalibration;
}

/** An address translation that caches pages. */
export interface Translation {
  /** Pages it holds before it has to walk. */
  readonly cached_pages?: GivenQuantity;
  readonly page?: GivenQuantity;
  /** Time added to a request whose page is not cached. */
  readonly miss?: GivenQuantity;
  /** Misses it serves at once. */
  readonly misses_at_once?: GivenQuantity;
}

/** Programmed transfers: loads and stores by a processor. */
export interface ProcessorAccess {
  /** Bytes of one uncached load or store. */
  readonly uncached_size?: GivenQuantity;
  /** Bytes of a write-combining buffer. */
  readonly combined_size?: GivenQuantity;
  /** Loads one processor has outstanding to uncached memory. */
  readonly outstanding_loads?: GivenQuantity;
  /** Time between two stores or buffers as the processor issues them. */
  readonly store_interval?: GivenQuantity;
}

export interface SwitchPart extends PartHead {
  readonly kind: 'switch';
  readonly pcie: PcieFunction;
  /** Width and generation of the port towards the host, when they differ from the others. */
  readonly upstream?: { readonly generation: Given<Generation>; readonly width: Given<Width> };
  /** Time through the switch, each way. */
  readonly latency?: GivenQuantity;
  /** `cut-through` starts to send before a packet has arrived whole; otherwise it is stored first. */
  readonly forwarding?: Given<'cut-through' | 'store and forward'>;
  /** A bridge between two address domains: requester identifiers are translated. */
  readonly non_transparent?: Given<boolean>;
  /** A bridge to a parallel bus: what its PCI side does. Its other side is `pcie`. */
  readonly bridge?: BridgeBus;
}

export interface SlotPart extends PartHead, Surroundings {
  readonly kind: 'slot';
  readonly cooling: Given<Cooling>;
  /** Current per rail; absent where nothing is known of it. */
  readonly supplies?: Readonly<Partial<Record<Rail, RailDemand>>>;
  readonly total_power?: GivenQuantity;
  readonly pitch?: GivenQuantity;
}

export type Part = ModulePart | CarrierPart | HostPart | SwitchPart | SlotPart;
export type PartKind = Part['kind'];
