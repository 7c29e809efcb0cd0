/** Published transfers of the network card, and how those that were not fitted lie in their ranges. */
import { type Calibration, predictPoints } from '../../src/insight/calibrate/index.ts';
import type { Kind } from '../../src/insight/calibrate/parameters.ts';
import { measuredAt, nicRows, type PublishedPoint } from './calibrate-cases.ts';

export const rows = nicRows().sort((a, b) => a.sizeBytes - b.sizeBytes);
export const of = (kind: Kind, host?: number) =>
  rows.filter((r) => r.kind === kind && (host === undefined || r.host === host));
export const measured = (some: readonly PublishedPoint[]) => some.map((r) => measuredAt(r, r.rate));

export interface HeldOut {
  readonly inside: number;
  readonly median: number;
  readonly worst: number;
}

/** How the points that were not fitted lie in their ranges. */
export function heldOut(calibration: Calibration, others: readonly PublishedPoint[]): HeldOut {
  const predicted = predictPoints(calibration, others);
  const inside = others.filter((r, i) => {
    const { low, high } = predicted[i]!;
    return r.rate >= low && r.rate <= high;
  });
  const errors = others.map((r, i) => Math.abs(predicted[i]!.expected / r.rate - 1));
  errors.sort((a, b) => a - b);
  return {
    inside: inside.length / others.length,
    median: errors[errors.length >> 1]!,
    worst: errors.at(-1)!,
  };
}
