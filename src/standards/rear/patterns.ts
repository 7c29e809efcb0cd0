/**
 * Patterns of rear I/O: which mezzanine pins each carries and how many wafers it takes. The standard's
 * own text (ANSI/VITA 46.9) was not in hand: names were read elsewhere, pin lists are from memory, and
 * two lists are not known at all.
 */
import type { Cited } from '../mezzanine-cited.ts';

/** Signals a wafer of a differential backplane connector carries: two pairs, or four singles. */
export const signalsPerWafer = 4;

export interface RearPattern extends Cited {
  /** `X12d`: twelve pairs of P16. */
  readonly id: string;
  readonly connector: 'P14' | 'P16';
  readonly kind: 'pairs' | 'single-ended';
  /** Pairs, or single signals. */
  readonly count: number;
  /**
   * Mezzanine pins in the order in which they fill wafers, both halves of a pair together, p first;
   * absent where no list is known.
   */
  readonly pins?: readonly string[];
  /** Place in the fill order, 1 first: module signals of the highest priority go first. */
  readonly order?: number;
}

/** Wafers a pattern takes, the last one perhaps in part. */
export function wafersOf({ kind, count }: RearPattern): number {
  return Math.ceil((kind === 'pairs' ? 2 * count : count) / signalsPerWafer);
}

const pairsOfRows = (rows: readonly number[]): readonly string[] =>
  rows.flatMap((row) => [`A${row}`, `B${row}`, `D${row}`, `E${row}`]);

const named = 'SOSA Technical Standard, Edition 1.0 Snapshot 2 (2019), Recommendation 5.2.21-1';
const draft = (list: string): Pick<RearPattern, 'document' | 'clause' | 'basis'> => ({
  document: 'ANSI/VITA 46.9',
  clause: `${list} (name and order read in ${named}; pins from memory)`,
  basis: 'memory',
});

/** One row a pattern, in the order in which they fill a connector; P64s stands alone. */
export const rearPatterns: readonly RearPattern[] = [
  {
    id: 'X12d',
    connector: 'P16',
    kind: 'pairs',
    count: 12,
    pins: pairsOfRows([5, 7, 9, 15, 17, 19]),
    order: 1,
    ...draft('rows 5, 7, 9, 15, 17, 19'),
  },
  {
    id: 'X8d',
    connector: 'P16',
    kind: 'pairs',
    count: 8,
    pins: pairsOfRows([1, 3, 11, 13]),
    order: 2,
    ...draft('rows 1, 3, 11, 13: one link of four lanes'),
  },
  {
    id: 'X16s',
    connector: 'P16',
    kind: 'single-ended',
    count: 16,
    order: 3,
    ...draft('16 pins of columns C and F; which ones is not known'),
  },
  {
    id: 'X24s',
    connector: 'P16',
    kind: 'single-ended',
    count: 24,
    order: 4,
    ...draft('24 pins of columns C and F; which ones is not known'),
  },
  {
    id: 'X38s',
    connector: 'P16',
    kind: 'single-ended',
    count: 38,
    pins: ['C', 'F'].flatMap((c) => Array.from({ length: 19 }, (_, i) => `${c}${i + 1}`)),
    order: 5,
    ...draft('C1 to C19 and F1 to F19'),
  },
  {
    id: 'X20d',
    connector: 'P16',
    kind: 'pairs',
    count: 20,
    pins: pairsOfRows([1, 3, 5, 7, 9, 11, 13, 15, 17, 19]),
    ...draft('all twenty pairs, X8d and X12d together'),
  },
  {
    id: 'P64s',
    connector: 'P14',
    kind: 'single-ended',
    count: 64,
    // Four pins a wafer, so that (4, 2) and (3, 1), neighbours in a row of Pn4, lie on its pairs.
    pins: Array.from({ length: 16 }, (_, wafer) =>
      [4, 2, 3, 1].map((pin) => `${4 * wafer + pin}`),
    ).flat(),
    ...draft('Pn4 pins 1 to 64; their order in a wafer recalled with doubt'),
  },
];

/** The row of a pattern, or undefined for a name that is not known. */
export function rearPattern(id: string): RearPattern | undefined {
  return rearPatterns.find((row) => row.id === id);
}
