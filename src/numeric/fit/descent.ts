/** Levenberg–Marquardt from one start: steps within a radius that grows and shrinks by success. */
import { type BoxStep, boxStep, freeAt, gradient } from './box-step.ts';
import { type Difference, type Jacobian, jacobianAt } from './jacobian.ts';
import { pullWeight, type ScaledLoss, totalCost } from './loss.ts';
import { type ReadyProblem, residualsAt } from './problem.ts';
import { differenceFloor } from './trust-region.ts';

/**
 * Why a descent ended. The first four are minima as far as doubles can tell: `exact`: nothing is
 * left of the residuals; `gradient`: they are at right angles to every slope; `cost`: neither
 * slopes nor trial promise a lower cost; `step`: the next step is too short to matter.
 * The others are not: `steps`: the limit of steps was met; `stuck`: no step however short lowers
 * the cost, although the slopes say so: the model jumps, or its slopes are wrong; `no-effect`: no
 * parameter moves any prediction; `model`: the model gives no finite residuals or slopes there.
 */
export type Stop =
  | 'exact'
  | 'gradient'
  | 'cost'
  | 'step'
  | 'steps'
  | 'stuck'
  | 'no-effect'
  | 'model';

/** Whether a stop is a minimum. */
export function isMinimum(stop: Stop): boolean {
  return stop === 'exact' || stop === 'gradient' || stop === 'cost' || stop === 'step';
}

export interface Descent {
  readonly stop: Stop;
  readonly values: readonly number[];
  /** Weighted residuals at `values`; absent when the model has none at the start. */
  readonly residuals: readonly number[] | undefined;
  readonly cost: number;
  /** Steps taken or refused. */
  readonly steps: number;
}

/** Relative changes of cost and parameters below which a step is one of rounding. */
const smallCost = 1e-15;
const smallStep = 1e-14;
/** Cosine between residuals and slopes that counts as a right angle. */
const rightAngle = 1e-12;
/** Part of the promised fall that must come true for a step to be taken. */
const leastKept = 1e-4;
/** Rounding of a prediction, in parts of the observation. */
const roundingOfModel = 2 ** -50;
/**
 * Part of the cost that the slopes may still promise at a minimum: the square of the relative
 * offset of 0.001 of D. M. Bates and D. G. Watts, Technometrics 23, 1981.
 */
const smallOffset = 1e-6;
/** Last steps after the minimum, and how many in a row may leave no shorter step. */
const mostPolish = 40;
const mostVain = 3;

interface Point {
  readonly values: readonly number[];
  readonly residuals: readonly number[];
  readonly cost: number;
}

interface Slope {
  /** Slopes and residuals, reweighted so that squares pull as the loss does. */
  readonly jacobian: Jacobian;
  readonly residuals: readonly number[];
}

function pointAt(problem: ReadyProblem, loss: ScaledLoss, values: readonly number[]) {
  const residuals = residualsAt(problem, values);
  return residuals && { values, residuals, cost: totalCost(loss, residuals) };
}

function slopeAt(
  problem: ReadyProblem,
  loss: ScaledLoss,
  point: Point,
  difference: Difference,
): Slope | undefined {
  const jacobian = jacobianAt(problem, point.values, point.residuals, difference);
  if (!jacobian || loss.kind === 'squares') {
    return jacobian && { jacobian, residuals: point.residuals };
  }
  const roots = point.residuals.map((r) => Math.sqrt(pullWeight(loss, r)));
  return {
    jacobian: jacobian.map((row, i) => row.map((slope) => slope * roots[i]!)),
    residuals: point.residuals.map((r, i) => r * roots[i]!),
  };
}

const norm = (values: readonly number[]) => Math.sqrt(values.reduce((sum, v) => sum + v * v, 0));

function columnNorms(jacobian: Jacobian): number[] {
  return jacobian[0]!.map((_, j) => norm(jacobian.map((row) => row[j]!)));
}

/** Largest cosine between the residuals and the slopes with a parameter that may move. */
function steepest(problem: ReadyProblem, values: readonly number[], slope: Slope): number {
  const pull = gradient(slope.jacobian, slope.residuals);
  const sizes = columnNorms(slope.jacobian);
  const size = norm(slope.residuals);
  let most = 0;
  for (const j of freeAt(problem, values, pull)) {
    const cosine = sizes[j] === 0 ? 0 : Math.abs(pull[j]!) / (sizes[j]! * size);
    most = Math.max(most, cosine);
  }
  return most;
}

/** Rounding of the cost: what errors in the last bits of the predictions can do to it. */
function costRounding(problem: ReadyProblem, cost: number): number {
  const { observed, rootWeights } = problem;
  const size = roundingOfModel * norm(observed.map((y, i) => y * rootWeights[i]!));
  return Math.max(smallCost * cost, size * (2 * Math.sqrt(cost) + size));
}

/**
 * Where two steps from neighbouring points say that a third would be none (D. G. Anderson, J. ACM
 * 12, 1965, of depth one). Gauss–Newton steps shrink slowly where large residuals meet curvature;
 * this takes most of the rest at once.
 */
function ahead(
  problem: ReadyProblem,
  from: readonly number[],
  step: readonly number[],
  before: { readonly step: readonly number[]; readonly moved: readonly number[] },
  scales: readonly number[],
): number[] {
  const change = step.map((d, j) => d - before.step[j]!);
  let above = 0;
  let below = 0;
  change.forEach((d, j) => {
    const scaled = d * scales[j]! * scales[j]!;
    above += step[j]! * scaled;
    below += d * scaled;
  });
  const part = below === 0 ? 0 : above / below;
  return step.map((d, j) => {
    const to = from[j]! + d - part * (before.moved[j]! + change[j]!);
    return Math.min(problem.high[j]!, Math.max(problem.low[j]!, to));
  });
}

interface FineStep {
  readonly step: BoxStep;
  readonly scales: readonly number[];
}

/** The Gauss–Newton step of the finest slopes, in what the data settle; nothing where there is none. */
function fineStep(problem: ReadyProblem, loss: ScaledLoss, point: Point): FineStep | undefined {
  const slope = slopeAt(problem, loss, point, 'fine');
  if (!slope) return undefined;
  const { jacobian, residuals } = slope;
  const scales = grown(undefined, jacobian);
  if (scales.every((s) => s === 0)) return undefined;
  const floor = differenceFloor;
  const step = boxStep(problem, point.values, jacobian, residuals, scales, Infinity, floor);
  return step && { step, scales };
}

/**
 * Gauss–Newton steps after the minimum is found. The cost is flat there to the last bit and no
 * longer tells better from worse; the length of the step that is left does.
 */
function polish(
  problem: ReadyProblem,
  loss: ScaledLoss,
  start: Point,
): { readonly point: Point; readonly left: BoxStep | undefined } {
  let point = start;
  let best: Point = start;
  let left: BoxStep | undefined;
  let before: Parameters<typeof ahead>[3] | undefined;
  let vain = 0;
  const roof = start.cost + costRounding(problem, start.cost);
  for (let round = 0; round < mostPolish; round++) {
    const fine = fineStep(problem, loss, point);
    if (!fine) break;
    const { step, scales } = fine;
    if (left === undefined || step.length < left.length) {
      vain = step.length < 0.9 * (left?.length ?? Infinity) ? 0 : vain + 1;
      left = step;
      best = point;
    } else vain++;
    if (vain >= mostVain) break;
    const to = before ? ahead(problem, point.values, step.step, before, scales) : step.to;
    const next = pointAt(problem, loss, to);
    if (!next || next.cost > roof) break;
    before = { step: step.step, moved: to.map((value, j) => value - point.values[j]!) };
    point = next;
  }
  return { point: best, left };
}

/** Whether the step that is left promises no more than rounding, as it must at a minimum. */
function isFlat(problem: ReadyProblem, { cost }: Point, left: BoxStep | undefined): boolean {
  const most = Math.max(smallOffset * cost, 10 * costRounding(problem, cost));
  return left === undefined || left.promised <= most;
}

/** Scales only grow, so that a parameter whose slopes fade does not run away (Moré, §6). */
function grown(scales: readonly number[] | undefined, jacobian: Jacobian): number[] {
  const sizes = columnNorms(jacobian);
  if (scales) return sizes.map((size, j) => Math.max(size, scales[j]!));
  const most = Math.max(...sizes);
  return sizes.map((size) => (size > 0 ? size : most));
}

/** How the radius answers to a trial (Moré, §4): `kept` is the part of the promise that came true. */
function nextRadius(radius: number, length: number, kept: number, damped: boolean): number {
  // No number at all counts as a refusal.
  if (!(kept >= 0)) return Math.min(radius, length) * 0.1;
  if (kept < 0.25) return Math.min(radius, length) * 0.5;
  return kept > 0.75 || !damped ? Math.max(radius, 2 * length) : radius;
}

/**
 * Goes down from one start.
 *
 * @param start inside the bounds
 * @param mostSteps steps after which to give up
 * @param firstRadius radius of the first step, in units of the scaled start
 */
export function descend(
  problem: ReadyProblem,
  loss: ScaledLoss,
  start: readonly number[],
  mostSteps: number,
  firstRadius: number,
): Descent {
  const first = pointAt(problem, loss, start);
  if (!first) {
    return { stop: 'model', values: start, residuals: undefined, cost: Infinity, steps: 0 };
  }
  let point: Point = first;
  let scales: number[] | undefined;
  let radius = 0;
  let steps = 0;
  const end = (stop: Stop): Descent => {
    if (!isMinimum(stop) || !scales) return { stop, ...point, steps };
    const { point: last, left } = polish(problem, loss, point);
    return { stop: isFlat(problem, last, left) ? stop : 'stuck', ...last, steps };
  };
  for (;;) {
    if (point.cost === 0) return end('exact');
    const slope = slopeAt(problem, loss, point, 'central');
    if (!slope) return end('model');
    if (slope.jacobian.every((row) => row.every((s) => s === 0))) return end('no-effect');
    const atStart: boolean = scales === undefined;
    scales = grown(scales, slope.jacobian);
    const size = () => norm(point.values.map((v, j) => v * scales![j]!));
    if (atStart) radius = firstRadius * (size() || norm(slope.residuals));
    if (steepest(problem, point.values, slope) <= rightAngle) return end('gradient');
    for (;;) {
      if (steps >= mostSteps) return end('steps');
      steps++;
      const { jacobian, residuals } = slope;
      const trial = boxStep(problem, point.values, jacobian, residuals, scales, radius);
      if (!trial) return end('gradient');
      const next = pointAt(problem, loss, trial.to);
      const fell = next ? (point.cost - next.cost) / point.cost : Number.NaN;
      const promised = trial.promised / point.cost;
      const kept = promised > 0 ? fell / promised : Number.NaN;
      radius = nextRadius(radius, trial.length, kept, trial.damped);
      const rounding = costRounding(problem, point.cost) / point.cost;
      const flat = Math.abs(fell) <= rounding && promised <= rounding;
      if (next && kept >= leastKept) {
        point = next;
        if (flat) return end('cost');
        break;
      }
      if (flat) return end('cost');
      if (radius <= smallStep * size()) return end('step');
    }
  }
}
