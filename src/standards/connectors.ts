/**
 * Connector families of the mezzanine: pins, stack heights, rated line rate, current per pin, and
 * which families mate with which. No body text of these standards was read; the rows say what was
 * read elsewhere and what is recalled.
 */
import type { Cited } from './mezzanine-cited.ts';

/** Names as the parts files spell them. */
export type FamilyName = 'CMC' | 'VITA 42' | 'VITA 61' | 'VITA 88';

/** A number with its own source: the columns of one family are not known equally well. */
export interface CitedNumber extends Cited {
  readonly value: number;
}

export interface ConnectorFamilyRow extends Cited {
  readonly family: FamilyName;
  readonly pins: CitedNumber;
  /** Stacking heights the family is made in, millimetres; makers offer others. */
  readonly stackHeights: Cited & { readonly millimetres: readonly number[] };
  /**
   * Serial line rates, GT/s. Up to `rated` the family was designed for; up to `practised` it is
   * commonly run; up to `proof` it has been run on channels proven one by one; above that nothing
   * is known. Absent for the parallel bus connector.
   */
  readonly lineRate?: Cited & {
    readonly rated: number;
    readonly practised: number;
    readonly proof: number;
  };
  /** Amperes a pin, a connector figure: what the carrier delivers is usually less. */
  readonly currentPerPin: CitedNumber;
}

const recalled = (document: string, clause: string): Cited => ({
  document,
  clause: `${clause} (from memory)`,
  basis: 'memory',
});

/** One row a family, oldest first. */
export const connectorFamilyRows: readonly ConnectorFamilyRow[] = [
  {
    family: 'CMC',
    document: 'IEEE 1386',
    clause: 'connectors, 64 pins in 2 rows of 32 (read in interfacebus.com/PMC_Card_Pinout.html)',
    basis: 'standard',
    pins: {
      value: 64,
      document: 'IEEE 1386',
      clause: 'connectors (read in interfacebus.com/PMC_Card_Pinout.html)',
      basis: 'standard',
    },
    stackHeights: {
      millimetres: [8, 10, 12, 13, 15],
      ...recalled('EIA-700 AAAB', 'stack heights'),
    },
    currentPerPin: { value: 1, ...recalled('EIA-700 AAAB', 'current per contact') },
  },
  {
    family: 'VITA 42',
    document: 'ANSI/VITA 42.0',
    clause: 'connector, 6 columns of 19 (scope read in vita.mil-embedded.com activity updates)',
    basis: 'standard',
    pins: {
      value: 114,
      document: 'ANSI/VITA 42.0',
      clause: 'connector (counted in the schematic github.com/elhep/XMC_ZynQ at a854b0e)',
      basis: 'standard',
    },
    stackHeights: { millimetres: [10, 12], ...recalled('ANSI/VITA 42.0', 'stack heights') },
    lineRate: {
      rated: 3.125,
      practised: 5,
      proof: 8,
      ...recalled('ANSI/VITA 42.0', 'connector design rate 3.125 Gb/s'),
    },
    currentPerPin: { value: 1, ...recalled('ANSI/VITA 42.0', 'current per pin') },
  },
  {
    family: 'VITA 61',
    document: 'ANSI/VITA 61.0',
    clause:
      'connector, replaces that of 42.0 (scope read in vita.mil-embedded.com activity updates)',
    basis: 'standard',
    pins: { value: 114, ...recalled('ANSI/VITA 61.0', 'connector') },
    stackHeights: { millimetres: [10, 12, 15, 18], ...recalled('ANSI/VITA 61.0', 'stack heights') },
    lineRate: {
      rated: 8,
      practised: 10,
      proof: 10,
      ...recalled('ANSI/VITA 61.0', 'connector, 8 GT/s and 10 Gb/s class'),
    },
    currentPerPin: { value: 1, ...recalled('ANSI/VITA 61.0', 'current per pin') },
  },
  {
    family: 'VITA 88',
    ...recalled('VITA 88', 'connector'),
    pins: { value: 114, ...recalled('VITA 88', 'connector') },
    stackHeights: { millimetres: [10], ...recalled('VITA 88', 'stack heights') },
    lineRate: {
      rated: 16,
      practised: 16,
      proof: 32,
      ...recalled('VITA 88', 'connector, 16 GT/s; 32 GT/s claimed'),
    },
    // No figure was found; that of the 42.0 footprint it keeps stands in for it.
    currentPerPin: { value: 1, ...recalled('VITA 88', 'current per pin, taken as that of 42.0') },
  },
];

export interface MatingRow extends Cited {
  readonly families: readonly [FamilyName, FamilyName];
  readonly mates: boolean;
}

/** Which two different families mate; the order in a pair does not matter. */
export const matingRows: readonly MatingRow[] = [
  { families: ['VITA 42', 'VITA 61'], mates: false, ...recalled('ANSI/VITA 61.0', 'intermating') },
  { families: ['VITA 42', 'VITA 88'], mates: true, ...recalled('VITA 88', 'mates with 42.0') },
  ...(['VITA 42', 'VITA 61', 'VITA 88'] as const).map(
    (other): MatingRow => ({
      families: ['CMC', other],
      mates: false,
      document: 'IEEE 1386 and ANSI/VITA 42.0',
      clause: 'connectors of 64 and of 114 pins',
      basis: 'standard',
    }),
  ),
];

/** A family mates with itself; nothing but the trade is needed to say so. */
const sameFamily: Cited = {
  document: 'common practice',
  clause: 'two halves of one family mate (no source)',
  basis: 'practice',
};

/** The row of a family. */
export function connectorFamilyRow(family: FamilyName): ConnectorFamilyRow {
  const row = connectorFamilyRows.find((r) => r.family === family);
  if (row === undefined)
    throw new RangeError(`connector family: expected a known one; got ${family}`);
  return row;
}

/** Whether two halves mate; undefined when no row speaks of the pair. */
export function mating(a: FamilyName, b: FamilyName): (Cited & { mates: boolean }) | undefined {
  if (a === b) return { mates: true, ...sameFamily };
  return matingRows.find(({ families: [x, y] }) => (x === a && y === b) || (x === b && y === a));
}
