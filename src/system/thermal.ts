/** What parts and slots say of heat and surroundings. Keys are spelled as in the YAML files. */
import type { Given, GivenQuantity } from './given.ts';

/** A part of the module whose junction temperature matters. */
export interface HotPart {
  readonly power: GivenQuantity;
  /** Junction to the module's frame: case, filler and frame up to its ribs. */
  readonly to_frame?: GivenQuantity;
  /** Junction to the air beside the part, with its heat sink, at the flow of the slot. */
  readonly to_air?: GivenQuantity;
  /** Highest junction temperature of its maker. */
  readonly junction_limit: GivenQuantity;
  /** Highest junction temperature wanted; the derating policy of the case otherwise. */
  readonly ceiling?: GivenQuantity;
}

/** Loads beyond temperature that a place may put on boards. */
export const loads = [
  'salt fog',
  'condensation',
  'fungus',
  'sand and dust',
  'low-frequency vibration',
  'rapid decompression',
] as const;
export type Load = (typeof loads)[number];

/** Classes of ANSI/VITA 47 that the tables know. */
export const environmentClasses = [
  'AC1',
  'AC2',
  'AC3',
  'CC1',
  'CC2',
  'CC3',
  'CC4',
  'C1',
  'C2',
  'C3',
  'V1',
  'V2',
  'V3',
  'OS1',
  'OS2',
] as const;
export type EnvironmentClass = (typeof environmentClasses)[number];

/** What a module or carrier stands. */
export interface Endurance {
  /** Per load whether it is withstood; a load not listed is not known. */
  readonly withstands?: Readonly<Partial<Record<Load, Given<boolean>>>>;
  readonly environment_class?: readonly Given<EnvironmentClass>[];
  /** Longest loss of its supply it rides through. */
  readonly hold_up?: GivenQuantity;
}

/** What a slot does to boards. */
export interface Surroundings {
  /** Temperature of the plug-in's card edge at the cold wall. */
  readonly card_edge?: GivenQuantity;
  readonly inlet_air?: GivenQuantity;
  /** Flow of air through this slot alone. */
  readonly air_flow?: GivenQuantity;
  readonly altitude?: GivenQuantity;
  readonly environment?: readonly Given<Load>[];
  readonly environment_class?: readonly Given<EnvironmentClass>[];
  /** Longest loss of its supply that reaches the slot. */
  readonly supply_dip?: GivenQuantity;
}

/** How a carrier carries heat and turns power. */
export interface CarrierHeat {
  /** Drawn by the carrier with its sites empty. */
  readonly own_power?: GivenQuantity;
  /** Of the converters that feed the sites; their losses are the carrier's heat. */
  readonly converter_efficiency?: GivenQuantity;
  /** Card edge of the carrier to the cold wall, both wedge locks together. */
  readonly wedge_locks?: GivenQuantity;
}
