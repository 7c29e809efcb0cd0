/**
 * The device parameters of the network card, fitted on every second size of the first host and held
 * against all the others, of every host: they are the device's, so no host has its own.
 */
import {
  type Device,
  type Host,
  type Kind,
  type NicPoint,
  nicPoints,
  rateOf,
  type TermId,
} from './nic.ts';
import { median } from './results.ts';
import { minimise } from './simplex.ts';

/** A term to fit: tried at every value listed, or moved from a start. */
export interface Free {
  readonly id: TermId;
  readonly start?: number;
  readonly values?: readonly number[];
  /** Decimals that the fitted value is given with. */
  readonly decimals: number;
}

export interface Plan {
  readonly kind: Kind;
  /** Sizes of host 1 that the fit sees, bytes. */
  readonly sizes: readonly number[];
  readonly free: readonly Free[];
}

const widths: Free = { id: 'path.width', values: [32, 64, 128, 256], decimals: 0 };

/** All points of the set, read once. */
export const points: readonly NicPoint[] = nicPoints();

/** Every second size of the set, bytes, from the smallest or from the second one on. */
export function everySecond(from: 0 | 1): number[] {
  const all = [...new Set(points.map((p) => p.bytes))].sort((a, b) => a - b);
  return all.filter((_, i) => i % 2 === from);
}

export const writes: Plan = {
  kind: 'write',
  sizes: everySecond(0),
  free: [
    widths,
    { id: 'path.clock', start: 50, decimals: 1 },
    { id: 'path.transfer_interval', start: 20, decimals: 1 },
    { id: 'setup_per_transfer', start: 4, decimals: 1 },
  ],
};

export const reads: Plan = {
  kind: 'read',
  sizes: everySecond(0),
  free: [
    widths,
    { id: 'path.clock', start: 100, decimals: 1 },
    { id: 'path.time_per_transfer', start: 5, decimals: 1 },
    {
      id: 'outstanding_requests',
      values: Array.from({ length: 25 }, (_, i) => 8 + i),
      decimals: 0,
    },
  ],
};

/** Six sizes a direction that were picked with all rates in view, to compare. */
export const picked: Readonly<Record<Kind, readonly number[]>> = {
  write: [64, 128, 129, 257, 512, 2048],
  read: [16, 65, 256, 512, 1024, 2048],
};

export function isFitPoint(plan: Plan, { host, bytes }: NicPoint): boolean {
  return host === 1 && plan.sizes.includes(bytes);
}

/** Points of the plan's direction that the fit does not see, on all hosts. */
export function othersOf(plan: Plan): NicPoint[] {
  return points.filter((p) => p.kind === plan.kind && !isFitPoint(plan, p));
}

/** Signed error of the model's rate. */
export function errorAt(point: NicPoint, device: Device): number {
  return rateOf(point, device) / point.measured - 1;
}

/** Mean of the squares of the relative errors. */
export function meanSquare(some: readonly NicPoint[], device: Device): number {
  return some.reduce((sum, p) => sum + errorAt(p, device) ** 2, 0) / some.length;
}

/** Moves of the simplex in each pass: far more than four terms need to settle. */
const moves = 120;

/**
 * Fits a plan: for every width the moving terms by simplex and the count of reads
 * by trial, twice in turn; the best of all. Values come rounded as a part would state them.
 */
export function fitted(plan: Plan): Device {
  const seen = points.filter((p) => p.kind === plan.kind && isFitPoint(plan, p));
  const moving = plan.free.filter((f) => f.start !== undefined);
  const counted = plan.free.filter((f) => f.id === 'outstanding_requests');
  const structural = plan.free.filter((f) => f.values && !counted.includes(f));
  const cost = (device: Device) => meanSquare(seen, device);
  const move = (from: Device): Device => {
    if (moving.length === 0) return from;
    const at = (values: readonly number[]): Device => ({
      ...from,
      ...Object.fromEntries(moving.map(({ id }, i) => [id, values[i]!])),
    });
    const start = moving.map(({ id, start: first }) => from[id] ?? first!);
    return at(minimise((values) => cost(at(values)), start, moves));
  };
  const tryAll = (from: Device): Device =>
    counted.reduce((all, free) => best(choices(all, free), cost), from);
  const found = structural
    .reduce((all: Device[], free) => all.flatMap((d) => choices(d, free)), [{}])
    .map((d) => [move, tryAll, move, tryAll].reduce((device, pass) => pass(device), d));
  return rounded(best(found, cost), plan.free);
}

function choices(device: Device, { id, values }: Free): Device[] {
  return values!.map((value) => ({ ...device, [id]: value }));
}

/** The first of the smallest. */
function best(devices: readonly Device[], cost: (device: Device) => number): Device {
  const costs = devices.map(cost);
  return devices[costs.indexOf(Math.min(...costs))]!;
}

function rounded(device: Device, free: readonly Free[]): Device {
  return Object.fromEntries(
    free.map(({ id, decimals }) => [id, Number(device[id]!.toFixed(decimals))]),
  );
}

/** The plan without some of its terms: what the rest can do when fitted anew. */
export function without(plan: Plan, ...ids: readonly TermId[]): Plan {
  return { ...plan, free: plan.free.filter(({ id }) => !ids.includes(id)) };
}

/** Signed errors as a group: the middle and the largest of their sizes. */
export interface Errors {
  readonly count: number;
  readonly median: number;
  readonly worst: number;
}

/** Errors of one host at the points that the fit did not see. */
export function errorsOf(plan: Plan, device: Device, host: Host): Errors {
  const sizes = othersOf(plan)
    .filter((p) => p.host === host)
    .map((p) => Math.abs(errorAt(p, device)));
  return { count: sizes.length, median: median(sizes), worst: Math.max(...sizes) };
}

/** What is asked of the other points of each host and direction. */
export const targets = { median: 0.05, worst: 0.12 } as const;

export function meets({ median: middle, worst }: Errors): boolean {
  return middle < targets.median && worst < targets.worst;
}
