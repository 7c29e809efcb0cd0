/** What a part says of the measurement its values come from. */
import type { DmaEngine } from './dma.ts';
import type { Given, GivenQuantity } from './given.ts';

/** Keys of an identity, in the order of report; each a text, or absent where nobody stated it. */
export const identityKeys = [
  'board_revision',
  'serial',
  'fpga_build',
  'driver',
  'firmware',
  'temperature',
] as const;
export type IdentityKey = (typeof identityKeys)[number];

/** Where the board sat while it was measured. */
export const adapters = ['desktop', 'carrier', 'not stated'] as const;
export type Adapter = (typeof adapters)[number];

/** What was measured, down to the build of its FPGA. */
export type Identity = Readonly<Partial<Record<IdentityKey, string>>> & {
  readonly adapter: Given<Adapter>;
};

/** How transfers of one kind were known when the part was saved. */
export interface CalibratedKind {
  /** Transfers measured. */
  readonly points: Given<number>;
  /** Standard deviation of the relative time that the fitted model did not see. */
  readonly scatter: GivenQuantity;
  /** Degrees of freedom of that. */
  readonly degrees: Given<number>;
  /** Smallest and largest transfer measured. */
  readonly sizes: GivenQuantity;
  /** Generation, width and sizes of the link settings they were measured under, as written. */
  readonly settings: readonly string[];
}

/** Another explanation that the measurements do not decide against. */
export interface AlternativeValues {
  readonly explanation: string;
  readonly dma?: DmaEngine;
}

export interface PartCalibration {
  /** `2026-11-25`. */
  readonly date: string;
  readonly explanation: string;
  readonly conditions: string;
  readonly evidence: readonly { readonly file: string; readonly sha256: string }[];
  readonly writes?: CalibratedKind;
  readonly reads?: CalibratedKind;
  readonly identity: Identity;
  readonly alternatives: readonly AlternativeValues[];
}
