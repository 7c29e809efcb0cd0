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
