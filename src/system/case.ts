/** A case as the rest of the tool sees it: parts resolved, quantities parsed, places kept. */
import type { Place } from '../model/basis.ts';
import type { Given, GivenQuantity } from './given.ts';
import type {
  CarrierPart,
  CarrierSite,
  Generation,
  HostPart,
  ModulePart,
  SlotPart,
  SwitchPart,
  Width,
} from './parts.ts';
import type { CaseRearMap } from './pins.ts';
import type { ChannelPiece } from './signals.ts';

/** How a front end makes its data; the burst rate is channels × sample_rate × container × headers. */
export interface FrontEnd {
  readonly channels: GivenQuantity;
  readonly sample_rate: GivenQuantity;
  readonly container: GivenQuantity;
  /** Fraction of the time in which samples flow; 1 when absent. */
  readonly duty?: GivenQuantity;
  /** A header of `size` before every `every` bytes of samples. */
  readonly block_header?: { readonly size: GivenQuantity; readonly every: GivenQuantity };
}

/** Transfers as the driver starts them. */
export interface TransferShape {
  readonly size: GivenQuantity;
  /** Offset of the first byte from a 4 KiB boundary. */
  readonly start_offset?: GivenQuantity;
  /** Buffer below or above 4 GiB: 32-bit addresses take a 3 DW header, 64-bit ones 4 DW. */
  readonly buffer?: Given<'below 4 GiB' | 'above 4 GiB'>;
}

export interface StreamMeasurement {
  readonly rate: GivenQuantity;
  /** Source of the number, required. */
  readonly reference: string;
}

export interface Stream {
  readonly name: string;
  readonly place: Place;
  /** `to host`: the module writes to host memory; `from host`: it reads from it. */
  readonly direction: Given<'to host' | 'from host'>;
  /** Burst rate, bytes per second, given directly or worked out from the front end. */
  readonly required: GivenQuantity;
  /** Long-time average; equals `required` when nothing says otherwise. */
  readonly average: GivenQuantity;
  readonly front_end?: FrontEnd;
  readonly transfer?: TransferShape;
  /** Share of a full link relative to the other streams; by required rate when absent. */
  readonly weight?: GivenQuantity;
  readonly headroom: GivenQuantity;
  readonly measured: readonly StreamMeasurement[];
  /** Who moves the data: the module's engine when absent. */
  readonly moved_by?: Given<'module' | 'processor, uncached' | 'processor, write-combining'>;
  /** Channel of the engine, from 0; streams without one share channel 0. */
  readonly channel?: Given<number>;
  readonly virtual_channel?: Given<number>;
  /** The other end is a peer device below this switch instead of host memory. */
  readonly peer_at?: Given<string>;
  /** What the data passes besides links, from its source to its sink. */
  readonly stages: readonly Stage[];
}

/** A stage beside the links: a memory, a user clock, a copy, a disk, a network. */
export interface Stage {
  readonly name: string;
  readonly place: Place;
  /** Bytes per second it takes, all its users together; stages of one name are one stage. */
  readonly rate: GivenQuantity;
  /** Times each byte passes: 2 for a memory that is written and read at once. */
  readonly passes: GivenQuantity;
  /** `burst`: it must carry the burst rate; `average`: a store before it levels the bursts. */
  readonly carries: Given<'burst' | 'average'>;
}

/** Traffic of other devices on the way: it takes its rate from the hops it shares. */
export interface Neighbour {
  readonly name: string;
  readonly place: Place;
  readonly direction: Given<'to host' | 'from host'>;
  readonly rate: GivenQuantity;
  /** Part id of the switch below which it sits. */
  readonly at: Given<string>;
}

/** Settings an operating system or firmware makes; each caps what the parts could do. */
export interface Settings {
  readonly Max_Payload_Size?: GivenQuantity;
  readonly Max_Read_Request_Size?: GivenQuantity;
  readonly Read_Completion_Boundary?: GivenQuantity;
  /** Reference clock at both ends of the module's link; common when absent. */
  readonly reference_clock?: Given<'common' | 'separate' | 'separate with spread spectrum'>;
  readonly Extended_Synch?: Given<boolean>;
  /** Errors per bit on each link: the standard's limit is 1e-12. */
  readonly bit_error_ratio?: GivenQuantity;
  readonly ASPM?: Given<'off' | 'L0s' | 'L1'>;
  /** Time without traffic after which a link goes to the power state above. */
  readonly idle_before_low_power?: GivenQuantity;
  readonly relaxed_ordering?: Given<boolean>;
  /** Prefixes of 4 bytes in front of every packet, such as a process identifier. */
  readonly prefixes?: Given<number>;
  /** Memory the transfers touch; more than the translation caches means misses. */
  readonly working_set?: GivenQuantity;
  readonly remote_socket?: Given<boolean>;
  /** Peer traffic is redirected through the root complex (access control services). */
  readonly peer_redirection?: Given<boolean>;
  /** The link is run, or found trained, slower or narrower than the parts allow. */
  readonly generation?: Given<Generation>;
  readonly width?: Given<Width>;
}

/** A file with measurements of the case's streams. */
export interface CaseEvidence {
  /** Relative to the case file. */
  readonly file: string;
  readonly place: Place;
  /** What the rows of a table are; `timings` when absent. Captures say themselves what they are. */
  readonly holds?: 'timings' | 'packets';
  /** Stream that was measured; found by direction when absent. */
  readonly stream?: Given<string>;
  readonly mapping?: WrittenMapping;
}

/** What a specification asks, by its own identifier. */
export interface Requirement {
  readonly id: string;
  readonly place: Place;
  readonly text: string;
  /** A stream, the id of a rule or finding, or one of `fit` and `rate`. */
  readonly about: string;
  /** How it is to be verified; analysis when absent. */
  readonly method?: 'analysis' | 'inspection' | 'test' | 'demonstration';
}

/** A mapping of evidence as the case has it; scalars are text. */
export interface WrittenMapping {
  readonly value: unknown;
  /** Places of its keys by path; the mapping's own has the empty path. */
  readonly places: readonly { readonly path: readonly string[]; readonly place: Place }[];
}

/** Margins that a programme or a customer asks for. */
export interface Policy {
  /** How far below its limit a junction is to stay. */
  readonly junction_margin?: GivenQuantity;
  /** Share of a connector's rated current that may be used. */
  readonly connector_current?: GivenQuantity;
}

/** A module on another site of the case's carrier. */
export interface BesideModule {
  readonly site: CarrierSite;
  readonly module: ModulePart;
}

export interface Case {
  readonly title: string;
  readonly question?: string;
  readonly revision?: string;
  readonly module: ModulePart;
  readonly carrier?: {
    readonly part: CarrierPart;
    readonly siteName: string;
    readonly site: CarrierSite;
  };
  /** What sits on the carrier's other sites, by site; absent where that is not known. */
  readonly beside?: Readonly<Record<string, BesideModule>>;
  readonly policy?: Policy;
  readonly host?: HostPart;
  readonly slot?: SlotPart;
  /** Switches on the way, nearest the module first. */
  readonly switches: readonly SwitchPart[];
  readonly settings: Settings;
  /** Pieces of the link's channel, from one end to the other. */
  readonly channel?: readonly ChannelPiece[];
  readonly streams: readonly Stream[];
  readonly neighbours: readonly Neighbour[];
  readonly evidence: readonly CaseEvidence[];
  /** Requirements of a specification; absent where the case lists none. */
  readonly requirements?: readonly Requirement[];
  /** Files that list where mezzanine pins leave the carrier. */
  readonly rear_maps?: readonly CaseRearMap[];
  /** Files read, in order of first use, relative names. */
  readonly files: readonly string[];
}
