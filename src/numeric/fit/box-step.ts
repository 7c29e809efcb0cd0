/**
 * A step that stays in the box. Parameters on a bound that the residuals push outwards are held;
 * a parameter that the step would carry over a bound is put onto it, and the others step anew.
 */
import type { Jacobian } from './jacobian.ts';
import { linearStep } from './trust-region.ts';

export interface Box {
  readonly low: readonly number[];
  readonly high: readonly number[];
}

export interface BoxStep {
  /** Where the step leads: exactly on a bound where one was met. */
  readonly to: readonly number[];
  readonly step: readonly number[];
  /** Length in scaled parameters. */
  readonly length: number;
  readonly damped: boolean;
  /** Fall of the sum of squares that the slopes promise. */
  readonly promised: number;
}

/** Half the slope of the sum of squares with each parameter. */
export function gradient(jacobian: Jacobian, residuals: readonly number[]): number[] {
  const sums = new Array<number>(jacobian[0]!.length).fill(0);
  jacobian.forEach((row, i) => {
    for (let j = 0; j < sums.length; j++) sums[j]! += row[j]! * residuals[i]!;
  });
  return sums;
}

/** Parameters that may move: all but those pushed against a bound. */
export function freeAt(box: Box, values: readonly number[], slope: readonly number[]): number[] {
  return values.flatMap((value, j) => {
    const outward =
      (value <= box.low[j]! && slope[j]! > 0) || (value >= box.high[j]! && slope[j]! < 0);
    return outward ? [] : [j];
  });
}

function squares(residuals: readonly number[]): number {
  let sum = 0;
  for (const r of residuals) sum += r * r;
  return sum;
}

/** Residuals after a step, as the slopes have it. */
function moved(jacobian: Jacobian, residuals: readonly number[], step: readonly number[]) {
  return residuals.map((r, i) => {
    let sum = r;
    for (let j = 0; j < step.length; j++) sum += jacobian[i]![j]! * step[j]!;
    return sum;
  });
}

/**
 * The step from `values`, or nothing when no parameter may move.
 *
 * @param scales length of a unit of each parameter, above zero
 * @param radius longest step allowed, in scaled parameters
 * @param floor as for `linearStep`
 */
export function boxStep(
  box: Box,
  values: readonly number[],
  jacobian: Jacobian,
  residuals: readonly number[],
  scales: readonly number[],
  radius: number,
  floor?: number,
): BoxStep | undefined {
  let free = freeAt(box, values, gradient(jacobian, residuals));
  const step = values.map(() => 0);
  const to = [...values];
  let damped = false;
  // Each round puts at least one parameter onto a bound, or is the last.
  while (free.length > 0) {
    const part = linearStep(
      jacobian.map((row) => free.map((j) => row[j]!)),
      moved(jacobian, residuals, step),
      free.map((j) => scales[j]!),
      radius,
      floor,
    );
    damped ||= part.damped;
    const met: number[] = [];
    free.forEach((j, at) => {
      const wanted = values[j]! + part.step[at]!;
      if (wanted < box.low[j]! || wanted > box.high[j]!) met.push(j);
    });
    for (const [at, j] of free.entries()) {
      if (met.length > 0 && !met.includes(j)) continue;
      to[j] = Math.min(box.high[j]!, Math.max(box.low[j]!, values[j]! + part.step[at]!));
      step[j] = to[j]! - values[j]!;
    }
    if (met.length === 0) break;
    free = free.filter((j) => !met.includes(j));
  }
  if (step.every((d) => d === 0)) return undefined;
  const promised = squares(residuals) - squares(moved(jacobian, residuals, step));
  const length = Math.sqrt(squares(step.map((d, j) => d * scales[j]!)));
  return { to, step, length, damped, promised };
}
