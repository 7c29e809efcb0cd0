/**
 * Where the 64 pins of Pn4 leave a VME board: the patterns of VITA 35, from memory. Row B of P2 is the
 * bus itself, so only rows A and C, or D and Z of the 160-pin connector, are free.
 */
import type { Cited } from '../mezzanine-cited.ts';

export interface VmePattern extends Cited {
  /** `P4V2-64ac`. */
  readonly id: string;
  readonly connector: 'P2' | 'P0';
  /** Pin of Pn4 to contact; absent where no list is known. */
  readonly map?: ReadonlyMap<number, string>;
  /** Pins of Pn4 that the pattern carries at most. */
  readonly carries: number;
}

/** Odd pins on row C, even ones on row A, two a position. */
function ac(): ReadonlyMap<number, string> {
  return new Map(
    Array.from({ length: 64 }, (_, i) => [i + 1, `${i % 2 === 0 ? 'C' : 'A'}${(i >> 1) + 1}`]),
  );
}

/** Three pins every two positions: D, Z (odd position), D; then D, Z, D of the next two. */
function dz(): ReadonlyMap<number, string> {
  const contacts: string[] = [];
  for (let position = 1; position <= 31; position += 2) {
    contacts.push(`D${position}`, `Z${position}`, `D${position + 1}`);
  }
  // D31 and D32 are ground and a pre-charge supply: the last position has only its Z.
  const free = contacts.filter((c) => c !== 'D31' && c !== 'D32');
  return new Map(free.map((contact, i) => [i + 1, contact]));
}

const recalled = (clause: string): Cited => ({
  document: 'VITA 35',
  clause: `${clause} (from memory)`,
  basis: 'memory',
});

/** One row a pattern. */
export const vmePatterns: readonly VmePattern[] = [
  {
    id: 'P4V2-64ac',
    connector: 'P2',
    carries: 64,
    map: ac(),
    ...recalled('Pn4 to P2 rows A and C'),
  },
  {
    id: 'P4V2-46dz',
    connector: 'P2',
    carries: 46,
    map: dz(),
    ...recalled('Pn4 pins 1 to 46 to P2 rows D and Z'),
  },
  {
    id: 'P4V0-64',
    connector: 'P0',
    carries: 64,
    ...recalled('Pn4 to P0; the list of positions is not known'),
  },
];

/** The row of a pattern, or undefined for a name that is not known. */
export function vmePattern(id: string): VmePattern | undefined {
  return vmePatterns.find((row) => row.id === id);
}
