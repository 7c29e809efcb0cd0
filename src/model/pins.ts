import type { Basis } from './basis.ts';
import type { Level } from './finding.ts';

/** What a board does with a pin, as its part says. */
export interface PinSide {
  /** `signal`, `ground`, `power`, `pull-up`, `pull-down`, `open` or `rear`. */
  readonly use: string;
  readonly signal?: string;
  readonly direction?: 'in' | 'out' | 'both';
  readonly level?: string;
  readonly mate?: string;
}

/** What a rule says of a pin that is not `ok`. */
export interface PinRemark {
  readonly rule: string;
  readonly level: Level;
  readonly why: string;
}

/** One pin of a connector where two boards meet. */
export interface PinEntry {
  readonly pin: string;
  /** Name and group in the table of its standard. */
  readonly standard: string;
  readonly group: string;
  readonly module?: PinSide;
  readonly carrier?: PinSide;
  readonly remarks: readonly PinRemark[];
}

/** Pins of a connector that at least one board lists, in the order of the connector. */
export interface PinSheet {
  readonly connector: string;
  readonly pins: readonly PinEntry[];
}

/** A pin of a connector's table. */
export interface TablePin {
  readonly pin: string;
  readonly signal: string;
  readonly group: string;
  /** Who drives it, from the standard: `module`, `carrier`, `both` or `none`. */
  readonly driver: string;
  readonly pair?: string;
  readonly polarity?: 'p' | 'n';
  readonly mate?: string;
  readonly alternative?: string;
  readonly document: string;
  readonly clause: string;
  readonly basis: Basis;
}

/** A mezzanine pin and the contact of the backplane that a pattern gives it. */
export interface PatternPin {
  readonly pin: string;
  readonly contact: string;
  readonly pattern: string;
  readonly document: string;
  readonly clause: string;
  readonly basis: Basis;
}

interface PinsHead {
  readonly schema: 'lanewright.pins/1';
  readonly tool: { readonly name: 'lanewright'; readonly version: string };
  readonly title: string;
  /** What to know before the table is used. */
  readonly notes: readonly string[];
}

/** The document of `pins`: a connector's table, or that of a pattern of rear I/O. */
export type PinsDocument =
  | (PinsHead & {
      readonly kind: 'connector';
      readonly connector: string;
      readonly assignment?: string;
      readonly rows: readonly TablePin[];
    })
  | (PinsHead & {
      readonly kind: 'rear';
      readonly rear: string;
      readonly rows: readonly PatternPin[];
    });
