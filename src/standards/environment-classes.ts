/**
 * Classes of ANSI/VITA 47. Every temperature and level here is from memory; the names EAC, EFC and ECC
 * of the builds were read in a primer on the standard. AC4 and later parts 47.1 and 47.3 were not seen.
 */
import type { Cited } from './mezzanine-cited.ts';

export type ClassKind = 'forced air' | 'conduction' | 'storage' | 'vibration' | 'shock';

export interface EnvironmentClassRow extends Cited {
  readonly name: string;
  readonly kind: ClassKind;
  /** Temperature range, degrees Celsius, at `at`; absent for vibration and shock. */
  readonly celsius?: readonly [low: number, high: number];
  readonly at?: 'inlet air' | 'card edge' | 'ambient air';
  /** Severity within its kind, for vibration and shock. */
  readonly rank?: number;
  readonly words: string;
}

const recalled = (clause: string): Cited => ({
  document: 'ANSI/VITA 47',
  clause: `${clause} (from memory)`,
  basis: 'memory',
});

function warm(
  name: string,
  kind: ClassKind,
  at: NonNullable<EnvironmentClassRow['at']>,
  celsius: readonly [number, number],
): EnvironmentClassRow {
  const words = `${celsius[0]} °C to ${celsius[1]} °C ${at}`;
  return { name, kind, at, celsius, words, ...recalled(`class ${name}`) };
}

function hard(name: string, kind: ClassKind, rank: number, words: string): EnvironmentClassRow {
  return { name, kind, rank, words, ...recalled(`class ${name}`) };
}

export const environmentClassRows: readonly EnvironmentClassRow[] = [
  warm('AC1', 'forced air', 'inlet air', [0, 55]),
  warm('AC2', 'forced air', 'inlet air', [-40, 55]),
  warm('AC3', 'forced air', 'inlet air', [-40, 71]),
  warm('CC1', 'conduction', 'card edge', [0, 55]),
  warm('CC2', 'conduction', 'card edge', [-40, 55]),
  warm('CC3', 'conduction', 'card edge', [-40, 71]),
  warm('CC4', 'conduction', 'card edge', [-40, 85]),
  warm('C1', 'storage', 'ambient air', [-40, 85]),
  warm('C2', 'storage', 'ambient air', [-50, 100]),
  warm('C3', 'storage', 'ambient air', [-55, 105]),
  hard('V1', 'vibration', 1, 'benign sine'),
  hard('V2', 'vibration', 2, 'plateau of 0.04 g²/Hz'),
  hard('V3', 'vibration', 3, 'plateau of 0.1 g²/Hz'),
  hard('OS1', 'shock', 1, '20 g, 11 ms'),
  hard('OS2', 'shock', 2, '40 g, 11 ms'),
];

/** The row of a class. */
export function environmentClassRow(name: string): EnvironmentClassRow {
  const row = environmentClassRows.find((r) => r.name === name);
  if (row === undefined) throw new RangeError(`class: expected one of VITA 47; got ${name}`);
  return row;
}

/** Whether what a part is qualified to takes in what is asked; of one kind. */
export function takesIn(has: EnvironmentClassRow, asked: EnvironmentClassRow): boolean {
  if (has.kind !== asked.kind) return false;
  if (has.celsius === undefined || asked.celsius === undefined) {
    return (has.rank ?? 0) >= (asked.rank ?? 0);
  }
  return has.celsius[0] <= asked.celsius[0] && has.celsius[1] >= asked.celsius[1];
}

/** Loads beyond a class: the boards' own statements decide, no table. */
export const loadsRow: Cited = {
  document: 'common practice',
  clause: 'what a place does to boards, the maker of each board states it withstands (no source)',
  basis: 'practice',
};
