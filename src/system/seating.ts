/** What parts say of supplies and mechanics beyond the seat itself, and of starting. */
import type { Given, GivenQuantity } from './given.ts';
import type { Rail } from './rails.ts';

/** Current into discharged capacitors: no more than `peak`, for no longer than `duration`. */
export interface Inrush {
  readonly peak: GivenQuantity;
  readonly duration: GivenQuantity;
}

export type SignallingVoltage = '3.3 V' | '5 V';

/** How an FPGA gets its configuration before its link can train. */
export interface Configuration {
  /** Bits that must be loaded before the link can train. */
  readonly image: GivenQuantity;
  /** Bits of the image for each bit read; 1 when absent. */
  readonly compression?: GivenQuantity;
  /** Bits read with each clock. */
  readonly flash_width: Given<number>;
  readonly flash_clock: GivenQuantity;
  /** From its supplies being stable to the first bit: its power-on reset. */
  readonly power_on_reset: GivenQuantity;
  /** From the last bit to a port that is ready to train. */
  readonly ready?: GivenQuantity;
}

export interface ModuleSeat {
  /** Tallest part on the side that faces away from the carrier. */
  readonly side2_height?: GivenQuantity;
  readonly board_thickness?: GivenQuantity;
  /** From the front edge to the rear edge. */
  readonly length?: GivenQuantity;
  /** Tallest part in the I/O zone, from the board towards the carrier. */
  readonly io_zone_height?: GivenQuantity;
  /** Connectors at the front panel that the use needs. */
  readonly front_io?: Given<boolean>;
  /** PCI signalling voltages its key holes take. */
  readonly signalling?: readonly Given<SignallingVoltage>[];
  readonly inrush?: Readonly<Partial<Record<Rail, Inrush>>>;
  /** Rails in the order in which they must come up. */
  readonly rail_order?: readonly Given<Rail>[];
  readonly configuration?: Configuration;
}

export interface SiteSeat {
  /** Length of module the site takes. */
  readonly length?: GivenQuantity;
  /** Tallest carrier part in the module's I/O zone; 0 mm where it is kept clear. */
  readonly io_zone_height?: GivenQuantity;
  /** Module ribs and fasteners to the carrier's frame. */
  readonly frame?: GivenQuantity;
  /** PCI signalling voltage that the carrier's key sets. */
  readonly key?: Given<SignallingVoltage>;
  readonly inrush?: Readonly<Partial<Record<Rail, Inrush>>>;
  readonly rail_order?: readonly Given<Rail>[];
  /** From the slot's supplies being stable to those of the site. */
  readonly supply_delay?: GivenQuantity;
  /** PCI segment: sites with one name share a bus. */
  readonly bus_segment?: Given<string>;
  readonly bus_clock?: GivenQuantity;
}

export interface CarrierSeat {
  readonly board_thickness?: GivenQuantity;
  /** Tallest part on the side without sites. */
  readonly side2_height?: GivenQuantity;
}

/** When a host first looks for devices, counted from stable power. */
export interface HostStart {
  /** Until PERST# or its like is released. */
  readonly reset_release?: GivenQuantity;
  /** Until the first configuration request. */
  readonly first_configuration?: GivenQuantity;
}
