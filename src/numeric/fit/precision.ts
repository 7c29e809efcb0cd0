/**
 * What the slopes at a minimum say of the parameters: how far each combination of them could move
 * before the residuals would show it. Singular values of the slopes, columns scaled to one length,
 * tell combinations that the data settle from those they do not touch.
 */
import { Matrix } from 'ml-matrix';
import type { Jacobian } from './jacobian.ts';
import { decompose, differenceFloor } from './trust-region.ts';

/** Part of a unit vector along untouched combinations from which on it counts as touched by them. */
const touched = 1e-6;

export interface Precision {
  /** Parameters that were free to move, by index. */
  readonly free: readonly number[];
  /** Lengths of their columns of slopes; 1 for a column of zeros. */
  readonly lengths: readonly number[];
  readonly singular: readonly number[];
  readonly right: Matrix;
  /** Combinations that the data settle, the first of the singular values. */
  readonly rank: number;
}

/** Precision from weighted slopes, those of held parameters left out. */
export function precisionOf(jacobian: Jacobian, free: readonly number[]): Precision {
  const lengths = free.map((j) => {
    let sum = 0;
    for (const row of jacobian) sum += row[j]! * row[j]!;
    return sum === 0 ? 1 : Math.sqrt(sum);
  });
  const scaled = jacobian.map((row) => free.map((j, at) => row[j]! / lengths[at]!));
  // Without a free parameter nothing is left to settle.
  if (free.length === 0) return { free, lengths, singular: [], right: Matrix.zeros(0, 0), rank: 0 };
  const { values, right } = decompose(scaled);
  const rank = values.filter((s) => s > differenceFloor * values[0]!).length;
  return { free, lengths, singular: values, right, rank };
}

/** The precision after one more observation with these weighted slopes, one for each parameter. */
export function withObservation(precision: Precision, slopes: readonly number[]): Precision {
  const { free, lengths, singular, right } = precision;
  // Singular values and right vectors carry all that the slopes say: S Vᵀ stands for the rows.
  const rows = singular.map((s, k) => free.map((_, at) => s * right.get(at, k) * lengths[at]!));
  rows.push(free.map((j) => slopes[j]!));
  const wide = rows.map((row) => {
    const all = new Array<number>(slopes.length).fill(0);
    free.forEach((j, at) => {
      all[j] = row[at]!;
    });
    return all;
  });
  return precisionOf(wide, free);
}

/**
 * Covariance of two linear combinations of the parameters; infinite when a combination that the data
 * do not touch takes part in one of them, be the scatter zero or not.
 *
 * @param square variance of a weighted residual
 * @param a slope of the combination with each parameter
 */
export function covarianceOf(
  precision: Precision,
  square: number,
  a: readonly number[],
  b: readonly number[] = a,
): number {
  const { free, lengths, singular, right, rank } = precision;
  const along = (slopes: readonly number[]) => free.map((j, at) => slopes[j]! / lengths[at]!);
  const [left, other] = [along(a), along(b)];
  const size = (v: readonly number[]) => Math.sqrt(v.reduce((sum, x) => sum + x * x, 0));
  const [leftSize, otherSize] = [size(left), size(other)];
  let sum = 0;
  for (let k = 0; k < singular.length; k++) {
    let p = 0;
    let q = 0;
    for (let at = 0; at < free.length; at++) {
      p += left[at]! * right.get(at, k);
      q += other[at]! * right.get(at, k);
    }
    if (k < rank) sum += (p * q) / (singular[k]! * singular[k]!);
    else if (Math.abs(p) > touched * leftSize || Math.abs(q) > touched * otherSize) return Infinity;
  }
  return square * sum;
}

/** A combination of relative changes of the parameters, and how well the data settle it. */
export interface Direction {
  /** Parameters with the part each takes, largest first; parts under 0.05 left out. */
  readonly parts: readonly { readonly name: string; readonly part: number }[];
  /** The parts in words: `+0.71 setup −0.71 gap`. */
  readonly name: string;
  /**
   * Standard error of a relative change along it, 0.02 for 2 %; infinite when no observation
   * depends on it, absent when no observation is left to estimate the scatter from.
   */
  readonly relativeError?: number;
  /** Whether the data tell it: its relative error is known and at most 1. */
  readonly settled: boolean;
}

const leastPart = 0.05;

function named(names: readonly string[], vector: readonly number[]) {
  const parts = vector
    .map((part, at) => ({ name: names[at]!, part }))
    .filter(({ part }) => Math.abs(part) >= leastPart)
    .sort((a, b) => Math.abs(b.part) - Math.abs(a.part));
  // A direction has no sense of its own; the largest part is written as a rise.
  const sign = (parts[0]?.part ?? 1) < 0 ? -1 : 1;
  return parts.map(({ name, part }) => ({ name, part: sign * part }));
}

const inWords = ({ name, part }: { name: string; part: number }) =>
  `${part < 0 ? '−' : '+'}${Math.abs(part).toFixed(2)} ${name}`;

/**
 * The combinations of relative changes of the free parameters, worst settled first.
 *
 * @param sizes what a relative change of each parameter is relative to
 * @param deviation standard deviation of a weighted residual, if known
 */
export function directionsOf(
  jacobian: Jacobian,
  precision: Precision,
  names: readonly string[],
  sizes: readonly number[],
  deviation: number | undefined,
): Direction[] {
  const { free, rank } = precision;
  if (free.length === 0) return [];
  const { values, right } = decompose(jacobian.map((row) => free.map((j) => row[j]! * sizes[j]!)));
  return values
    .map((s, k): Direction => {
      const vector = free.map((_, at) => right.get(at, k));
      const parts = named(
        free.map((j) => names[j]!),
        vector,
      );
      const error = k >= rank ? Infinity : deviation === undefined ? undefined : deviation / s;
      return {
        parts,
        name: parts.map(inWords).join(' '),
        ...(error === undefined ? {} : { relativeError: error }),
        settled: error !== undefined && error <= 1,
      };
    })
    .reverse();
}
