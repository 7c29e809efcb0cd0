/**
 * One damped step of linear least squares: the d that makes |r + J d| least within |D d| ≤ radius
 * (K. Levenberg 1944, D. W. Marquardt 1963; as a trust region J. J. Moré, Lecture Notes in
 * Mathematics 630, 1978). Singular values give the step for every damping at the price of one
 * decomposition, without the squared condition number of normal equations.
 */
import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import type { Jacobian } from './jacobian.ts';

export interface LinearStep {
  /** Displacement of every parameter. */
  readonly step: readonly number[];
  /** Length of the step in scaled parameters. */
  readonly length: number;
  /** Whether the radius held the step back. */
  readonly damped: boolean;
}

/** A step may miss the radius by this part of it: more digits would not make it better. */
const slack = 0.1;
const mostTrials = 30;

/** Singular values below this part of the largest are rounding of difference quotients. */
export const differenceFloor = 1e-9;

/** Singular values below this part of the largest carry rounding only. */
function roundingFloor(rows: number, columns: number): number {
  return 2 ** -52 * Math.max(rows, columns);
}

/** The decomposition of a matrix with at least as many rows as columns, zero rows added if not. */
export function decompose(rows: readonly (readonly number[])[]): {
  readonly values: readonly number[];
  /** Left vectors as columns, one row for each row given. */
  readonly left: Matrix;
  readonly right: Matrix;
} {
  const columns = rows[0]!.length;
  const matrix = Matrix.zeros(Math.max(rows.length, columns), columns);
  rows.forEach((row, i) => {
    matrix.setRow(i, row as number[]);
  });
  const svd = new SingularValueDecomposition(matrix);
  return {
    values: svd.diagonal,
    left: svd.leftSingularVectors,
    right: svd.rightSingularVectors,
  };
}

interface Path {
  readonly singular: readonly number[];
  /** Residual seen along each left vector. */
  readonly pull: readonly number[];
  readonly floor: number;
}

/** Part of the step along right vector k at a damping; directions of rounding stay still at 0. */
function along({ singular, pull, floor }: Path, k: number, damping: number): number {
  const s = singular[k]!;
  if (damping === 0 && s <= floor) return 0;
  const below = s * s + damping;
  return below === 0 ? 0 : (-s * pull[k]!) / below;
}

function lengthAt(path: Path, damping: number): number {
  let sum = 0;
  for (let k = 0; k < path.singular.length; k++) sum += along(path, k, damping) ** 2;
  return Math.sqrt(sum);
}

/** Slope of the length with the damping, always below zero. */
function lengthSlope(path: Path, damping: number, length: number): number {
  let sum = 0;
  for (let k = 0; k < path.singular.length; k++) {
    const s = path.singular[k]!;
    const below = s * s + damping;
    if (below > 0) sum -= along(path, k, damping) ** 2 / below;
  }
  return sum / length;
}

/** The damping at which the step is about as long as the radius (Moré, §5: Newton on 1/length). */
function dampingFor(path: Path, radius: number): number {
  let high = 0;
  for (let k = 0; k < path.pull.length; k++) high += (path.singular[k]! * path.pull[k]!) ** 2;
  high = Math.sqrt(high) / radius;
  let low = 0;
  let damping = high * 0.001;
  for (let trial = 0; trial < mostTrials; trial++) {
    const length = lengthAt(path, damping);
    if (Math.abs(length - radius) <= slack * radius) break;
    if (length > radius) low = Math.max(low, damping);
    else high = Math.min(high, damping);
    const slope = lengthSlope(path, damping, length);
    const next = damping - ((length - radius) / radius) * (length / slope);
    damping = next > low && next < high ? next : Math.max(0.001 * high, Math.sqrt(low * high));
  }
  return damping;
}

/**
 * The step from residuals and their slopes.
 *
 * @param scales length of a unit of each parameter, above zero
 * @param radius longest step allowed, in scaled parameters
 * @param floor singular values up to this part of the largest are left alone; rounding when absent
 */
export function linearStep(
  jacobian: Jacobian,
  residuals: readonly number[],
  scales: readonly number[],
  radius: number,
  floor = roundingFloor(residuals.length, scales.length),
): LinearStep {
  const scaled = jacobian.map((row) => row.map((slope, j) => slope / scales[j]!));
  const { values, left, right } = decompose(scaled);
  const pull = values.map((_, k) => {
    let sum = 0;
    for (let i = 0; i < residuals.length; i++) sum += left.get(i, k) * residuals[i]!;
    return sum;
  });
  const path: Path = { singular: values, pull, floor: floor * (values[0] ?? 0) };
  const damped = lengthAt(path, 0) > (1 + slack) * radius;
  const damping = damped ? dampingFor(path, radius) : 0;
  const parts = values.map((_, k) => along(path, k, damping));
  const step = scales.map((scale, j) => {
    let sum = 0;
    for (let k = 0; k < parts.length; k++) sum += right.get(j, k) * parts[k]!;
    return sum / scale;
  });
  return { step, length: lengthAt(path, damping), damped };
}
