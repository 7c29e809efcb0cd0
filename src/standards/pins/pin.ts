/**
 * What a row of a pin table says. Directions are from the module's view: the mezzanine connector does
 * not cross signals, so what the module drives the carrier receives on the same pin.
 */
import type { Cited } from '../mezzanine-cited.ts';

/** What a pin is for; two pins that meet must agree in it, or one must leave it open. */
export type PinGroup =
  | 'ground'
  | 'power'
  | 'lane'
  | 'clock'
  | 'sideband'
  | 'bus'
  | 'user I/O'
  | 'reserved';

/** Who drives the net. `both`: a shared line. `none`: ground, power and what is left open. */
export type PinDriver = 'module' | 'carrier' | 'both' | 'none';

export type PinConnector = 'P11' | 'P12' | 'P13' | 'P14' | 'P15' | 'P16';

/** The half of a differential pair that a pin is. */
export interface PairHalf {
  /** `DP00` to `DP19`, by the numbering rule of the base standard. */
  readonly pair: string;
  readonly polarity: 'p' | 'n';
  /** The pin that carries the other half. */
  readonly mate: string;
}

export interface PinRow extends Cited {
  readonly connector: PinConnector;
  /** `A1` to `F19` on 114 pins, `1` to `64` on 64. */
  readonly pin: string;
  /** As the standard spells it: `PET0p0`, `AD31`, `GND`. */
  readonly signal: string;
  readonly group: PinGroup;
  readonly driver: PinDriver;
  readonly pair?: PairHalf;
  /** What a later or an optional standard uses the pin for. */
  readonly alternative?: string;
}

/** Columns of a 114-pin connector, in the order of its rows. */
export const columns114 = ['A', 'B', 'C', 'D', 'E', 'F'] as const;

/** All pins of a connector, in order: A1 B1 … F1 A2 … F19, or 1 to 64. */
export function pinNames(connector: PinConnector): readonly string[] {
  if (connector !== 'P15' && connector !== 'P16') {
    return Array.from({ length: 64 }, (_, i) => `${i + 1}`);
  }
  return Array.from({ length: 19 }, (_, row) => columns114.map((c) => `${c}${row + 1}`)).flat();
}

/**
 * The half of a pair that a pin of a 114-pin connector can be: A with B and D with E in odd rows,
 * numbered down the rows, p on A and D (polarity read in the schematic github.com/elhep/XMC_ZynQ at
 * a854b0e; the numbering is from memory of ANSI/VITA 42.0).
 * @returns undefined for any other pin
 */
export function pairHalf(pin: string): PairHalf | undefined {
  const column = pin[0]!;
  const row = Number(pin.slice(1));
  const at = 'ABDE'.indexOf(column);
  if (at < 0 || row % 2 === 0) return undefined;
  const number = row - 1 + (at >= 2 ? 1 : 0);
  const mate = `${'BAED'[at]}${row}`;
  return {
    pair: `DP${`${number}`.padStart(2, '0')}`,
    polarity: at % 2 === 0 ? 'p' : 'n',
    mate,
  };
}
