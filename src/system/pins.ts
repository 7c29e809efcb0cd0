/** What a board does with single pins of a mezzanine connector, and where a carrier sends them. */
import type { Given } from './given.ts';

/** What a module does with a pin. */
export const modulePurposes = [
  'signal',
  'ground',
  'power',
  'pull-up',
  'pull-down',
  'open',
] as const;

/** What a carrier does with a pin; `rear` is wired to the backplane and to nothing else. */
export const carrierPurposes = [...modulePurposes, 'rear'] as const;
export type PinPurpose = (typeof carrierPurposes)[number];

/** Electrical levels; `analogue` has no logic level. */
export const pinLevels = [
  '1.2 V',
  '1.5 V',
  '1.8 V',
  '2.5 V',
  '3.3 V',
  '5 V',
  '12 V',
  '-12 V',
  'LVDS',
  'CML',
  'LVPECL',
  'RS-232',
  'RS-422',
  'RS-485',
  'open drain',
  'analogue',
] as const;
export type PinLevel = (typeof pinLevels)[number];

/** `out` leaves the board whose part says so, `in` enters it. */
export const pinDirections = ['in', 'out', 'both'] as const;
export type PinDirection = (typeof pinDirections)[number];

/** One pin of a connector as a board uses it. */
export interface PinUse {
  readonly use: Given<PinPurpose>;
  /** Its function in the board's own words. */
  readonly signal?: string;
  readonly direction?: Given<PinDirection>;
  readonly level?: Given<PinLevel>;
  /** The pin of the other half, where it is half of a differential pair. */
  readonly mate?: string;
  readonly polarity?: 'p' | 'n';
}

/** By pin name, in the order of the connector's pins. */
export type PinUses = Readonly<Record<string, PinUse>>;

/** Connectors whose pins can be sent to the backplane. */
export const rearConnectors = ['P14', 'P16'] as const;
export type RearConnector = (typeof rearConnectors)[number];

/** How one connector reaches the backplane. */
export interface RearRouting {
  /** `P2w1-X8d+X12d`, `P4V2-64ac`. */
  readonly patterns: readonly Given<string>[];
  /** Contact of the backplane by mezzanine pin, as the board's maker lists it. */
  readonly map?: Readonly<Record<string, Given<string>>>;
}

export type RearRoutings = Readonly<Partial<Record<RearConnector, RearRouting>>>;

/** A file of a case that lists mezzanine pins with the backplane contacts they reach. */
export interface CaseRearMap {
  readonly connector: Given<RearConnector>;
  /** Relative to the case file. */
  readonly file: string;
  /** What was read of it, once it was; the reader of cases reads no other file. */
  readonly contacts?: Readonly<Record<string, Given<string>>>;
}
