/** Losses of robust regression as cost, weight and slope of the pull of one residual. */
import type { Loss } from './problem.ts';

/** A loss whose scale is settled. */
export type ScaledLoss =
  | { readonly kind: 'squares' }
  | { readonly kind: 'huber' | 'soft-l1'; readonly scale: number };

/** 95 % efficiency on normal residuals (Huber, Robust Statistics, 1981, §4; from memory). */
const efficient = 1.345;
/** Standard deviation of a normal distribution over its median absolute value. */
const normalOverMedian = 1.4826;

/** Cost of a residual: its square while small. */
export function costOf(loss: ScaledLoss, residual: number): number {
  if (loss.kind === 'squares') return residual * residual;
  const u = Math.abs(residual) / loss.scale;
  const square = loss.scale * loss.scale;
  if (loss.kind === 'huber') return square * (u <= 1 ? u * u : 2 * u - 1);
  // 2 (√(1 + u²) − 1), written so that small u do not cancel.
  return (square * 2 * u * u) / (Math.sqrt(1 + u * u) + 1);
}

/**
 * Weight that makes a square pull as this loss does. Every loss here is concave in r², so the
 * reweighted squares lie above the loss: a step that lowers them lowers the loss at least as much.
 */
export function pullWeight(loss: ScaledLoss, residual: number): number {
  if (loss.kind === 'squares') return 1;
  const u = Math.abs(residual) / loss.scale;
  if (loss.kind === 'huber') return u <= 1 ? 1 : 1 / u;
  return 1 / Math.sqrt(1 + u * u);
}

/** Slope of the pull, weight × residual, with the residual: 1 while small, towards 0 when gross. */
export function pullSlope(loss: ScaledLoss, residual: number): number {
  if (loss.kind === 'squares') return 1;
  const u = Math.abs(residual) / loss.scale;
  if (loss.kind === 'huber') return u <= 1 ? 1 : 0;
  const root = Math.sqrt(1 + u * u);
  return 1 / (root * root * root);
}

/** Sum of the costs. */
export function totalCost(loss: ScaledLoss, residuals: readonly number[]): number {
  let sum = 0;
  for (const residual of residuals) sum += costOf(loss, residual);
  return sum;
}

/**
 * Scale from the median size of the residuals, raised for the parameters that were fitted to them;
 * 0 when more than half of the residuals are.
 */
export function scaleFrom(residuals: readonly number[], parameters: number): number {
  const sizes = residuals.map(Math.abs).sort((a, b) => a - b);
  const count = sizes.length;
  const middle = count >> 1;
  const median = count % 2 === 1 ? sizes[middle]! : (sizes[middle - 1]! + sizes[middle]!) / 2;
  const spent = count > parameters ? Math.sqrt(count / (count - parameters)) : 1;
  return efficient * normalOverMedian * median * spent;
}

/** The loss with its scale, if it states one. */
export function settled(loss: Loss): ScaledLoss | undefined {
  if (loss.kind === 'squares') return loss;
  if (loss.scale === undefined) return undefined;
  if (!(loss.scale > 0 && Number.isFinite(loss.scale))) {
    throw new RangeError(`the scale of a loss must be above zero and finite, got ${loss.scale}`);
  }
  return { kind: loss.kind, scale: loss.scale };
}
