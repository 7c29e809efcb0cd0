/**
 * Wafers of a VPX backplane connector: where pairs and singles lie. From memory of ANSI/VITA 46.0; one
 * summary read elsewhere gives half as many pairs, which the published slot figures contradict.
 */
import type { Cited } from '../mezzanine-cited.ts';

export interface ConnectorWafers extends Cited {
  readonly board: '3U VPX' | '6U VPX';
  readonly connector: string;
  readonly wafers: number;
}

const read = 'wafers per connector (read in cavuaerospace.uk, OBC-PF-VPX pinout page, for 3U)';

/** Differential wafers of the connectors that user I/O can leave by. */
export const connectorWafers: readonly ConnectorWafers[] = [
  ...['P1', 'P2'].map(
    (connector): ConnectorWafers => ({
      board: '3U VPX',
      connector,
      wafers: 16,
      document: 'ANSI/VITA 46.0',
      clause: read,
      basis: 'standard',
    }),
  ),
  ...['P1', 'P2', 'P3', 'P4', 'P5', 'P6'].map(
    (connector): ConnectorWafers => ({
      board: '6U VPX',
      connector,
      wafers: 16,
      document: 'ANSI/VITA 46.0',
      clause: 'wafers per connector of 6U (from memory)',
      basis: 'memory',
    }),
  ),
];

/** A contact of a wafer: row letter, and what it carries. */
export interface WaferContact {
  readonly row: 'A' | 'B' | 'C' | 'D' | 'E' | 'F' | 'G';
  readonly use: 'pair 1 +' | 'pair 1 -' | 'pair 2 +' | 'pair 2 -' | 'ground' | 'single-ended';
}

const odd: readonly WaferContact[] = [
  { row: 'A', use: 'pair 1 +' },
  { row: 'B', use: 'pair 1 -' },
  { row: 'C', use: 'ground' },
  { row: 'D', use: 'pair 2 +' },
  { row: 'E', use: 'pair 2 -' },
  { row: 'F', use: 'ground' },
  { row: 'G', use: 'single-ended' },
];

const even: readonly WaferContact[] = [
  { row: 'A', use: 'ground' },
  { row: 'B', use: 'pair 1 +' },
  { row: 'C', use: 'pair 1 -' },
  { row: 'D', use: 'ground' },
  { row: 'E', use: 'pair 2 +' },
  { row: 'F', use: 'pair 2 -' },
  { row: 'G', use: 'ground' },
];

/** Where the contact rows of a wafer come from. */
export const waferRow: Cited = {
  document: 'ANSI/VITA 46.0',
  clause: 'differential wafers, odd and even (from memory)',
  basis: 'memory',
};

/** Contacts of wafer `n`, counted from 1: odd and even ones lie half a pair apart. */
export function waferContacts(n: number): readonly WaferContact[] {
  return n % 2 === 1 ? odd : even;
}

/**
 * Contacts that carry signals, from wafer `first` on, in the order pair 1 +, pair 1 −, pair 2 +,
 * pair 2 −: `A9`, `B9`, `D9`, `E9`, `B10` …
 */
export function signalContacts(first: number, wafers: number): readonly string[] {
  return Array.from({ length: wafers }, (_, i) => first + i).flatMap((n) =>
    waferContacts(n)
      .filter(({ use }) => use.startsWith('pair'))
      .map(({ row }) => `${row}${n}`),
  );
}
