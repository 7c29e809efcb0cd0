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
}

/** Settings an operating system or firmware makes; each caps what the parts could do. */
export interface Settings {
  readonly Max_Payload_Size?: GivenQuantity;
  readonly Max_Read_Request_Size?: GivenQuantity;
  readonly Read_Completion_Boundary?: GivenQuantity;
  /** The link is run, or found trained, slower or narrower than the parts allow. */
  readonly generation?: Given<Generation>;
  readonly width?: Given<Width>;
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
  readonly host?: HostPart;
  readonly slot?: SlotPart;
  /** Switches on the way, nearest the module first. */
  readonly switches: readonly SwitchPart[];
  readonly settings: Settings;
  readonly streams: readonly Stream[];
  /** Files read, in order of first use, relative names. */
  readonly files: readonly string[];
}
