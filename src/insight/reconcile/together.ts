/**
 * Over all points of one kind together: which single unknown, everything else as expected, brings the
 * prediction nearest to the measurements. Least squares of relative times, one unknown at a time.
 */
import type { FittedUnknown } from '../../model/reconcile.ts';
import { leastSquares } from '../../numeric/fit/index.ts';
import { evaluate } from '../../system/evaluate.ts';
import { cornerWith, explanationOf, timesOutside } from './explain.ts';
import { changedMost, rateAt } from './predict.ts';
import { expectedSeconds, measuredSeconds, type PredictedPoint, residualOf } from './predicted.ts';
import { modelValue, type Unknown, unknownsOf } from './unknowns.ts';

/** An unknown takes part when it moves some point by more than this part of its time. */
const MOVES = 1e-4;
/** An unknown is kept when it takes away at least this part of the residual. */
const HELPS = 0.1;
/** Two unknowns tie when their residuals differ by less than this part of what the better took away. */
const TIE = 0.1;
/** Values tried before the fit, to begin it in the right valley. */
const GRID = 15;

/** Unknowns that explain the points, best first, and how many of them do it equally well. */
export interface OneUnknown {
  readonly residual: number;
  readonly unknowns: readonly FittedUnknown[];
  readonly tied: number;
}

/** @param points at least one, all of one stream and kind */
export function explainTogether(points: readonly PredictedPoint[]): OneUnknown {
  const residual = residualOf(points.map((p) => expectedSeconds(p) / measuredSeconds(p)));
  const fitted = sharedUnknowns(points).flatMap((shared) => {
    const found = fitUnknown(points, shared);
    return found && found.unknown.residual <= residual * (1 - HELPS) ? [found] : [];
  });
  fitted.sort((a, b) => rank(a) - rank(b) || (a.outside === b.outside ? 0 : a.outside - b.outside));
  const all = fitted.map((f) => f.unknown);
  const best = all[0];
  const near = best && best.residual + TIE * (residual - best.residual);
  const alike = near === undefined ? [] : all.filter((f) => f.residual <= near);
  // Of those that explain the points alike, the ones that may have such a value come first.
  const first = [...alike.filter((f) => f.inRange), ...alike.filter((f) => !f.inRange)];
  return {
    residual,
    unknowns: [...first, ...all.filter((f) => !alike.includes(f))],
    tied: alike.length,
  };
}

/** A fitted unknown, and how many times beyond what is stated of it. */
interface FittedOne {
  readonly unknown: FittedUnknown;
  readonly outside: number;
}

/** Residuals alike to a tenth of a per cent are equal: then the less far-fetched value is better. */
function rank({ unknown }: FittedOne): number {
  return Math.round(unknown.residual * 1e3);
}

/** One unknown in the network of each point; absent where a point's network has none. */
interface SharedUnknown {
  readonly first: Unknown;
  readonly each: readonly (Unknown | undefined)[];
}

function sharedUnknowns(points: readonly PredictedPoint[]): SharedUnknown[] {
  const lists = points.map(
    ({ at }) => new Map(unknownsOf(at.network).map((unknown) => [unknown.id, unknown])),
  );
  const ids = new Set(lists.flatMap((list) => [...list.keys()]));
  return [...ids].map((id) => {
    const each = lists.map((list) => list.get(id));
    return { first: each.find((u) => u !== undefined)!, each };
  });
}

/** Predicted over measured time of every point, with an unknown at a value in units of people. */
class Ratios {
  readonly #points: readonly PredictedPoint[];
  readonly #each: SharedUnknown['each'];
  readonly #known = new Map<string, number>();

  constructor(points: readonly PredictedPoint[], { each }: SharedUnknown) {
    this.#points = points;
    this.#each = each;
  }

  at(value: number): number[] {
    return this.#points.map((point, i) => {
      const unknown = this.#each[i];
      if (unknown === undefined) return expectedSeconds(point) / measuredSeconds(point);
      // A value between two of the model's is read between their times: the fit needs slopes.
      const exact = Math.min(unknown.most, Math.max(unknown.least, value / unknown.scale));
      const below = Math.floor(exact);
      const part = exact - below;
      const low = this.#ratio(i, below);
      return part < 1e-9 ? low : low + part * (this.#ratio(i, below + 1) - low);
    });
  }

  #ratio(i: number, value: number): number {
    const key = `${i} ${value}`;
    let found = this.#known.get(key);
    if (found === undefined) {
      const { network } = this.#points[i]!.at;
      const corner = cornerWith(network, this.#each[i]!, value);
      found = this.#points[i]!.measured.median / rateAt(network, corner);
      this.#known.set(key, found);
    }
    return found;
  }

  residual(value: number): number {
    return residualOf(this.at(value));
  }
}

function fitUnknown(
  points: readonly PredictedPoint[],
  shared: SharedUnknown,
): FittedOne | undefined {
  const { first } = shared;
  const ratios = new Ratios(points, shared);
  const grid = gridOf(points, first);
  const now = first.entry.range.expected * first.scale;
  const base = ratios.at(now);
  const ends = [grid[0]!, grid.at(-1)!];
  const moves = ends.some((end) =>
    ratios.at(end).some((ratio, i) => Math.abs(ratio - base[i]!) > MOVES * base[i]!),
  );
  if (!moves && !first.values) return undefined;
  const value = first.values ? bestOf(grid, ratios) : settle(first, grid, ratios);
  return describe(points, shared, value, ratios.residual(value));
}

/** Values to look at first, in units of people, rising. */
function gridOf(points: readonly PredictedPoint[], unknown: Unknown): number[] {
  const { scale, least, most, values, unit, entry } = unknown;
  if (values) return [...values].sort((a, b) => a - b);
  const longest = Math.max(...points.map(measuredSeconds));
  const { expected, high } = entry.range;
  const far = unit === 'ps' ? longest / scale : 16 * high;
  const end = Math.max(least + 1, Math.min(most, Math.ceil(Math.max(far, high))));
  const found = new Set([least, end, Math.min(end, Math.max(least, expected))]);
  // A quarter of the way down each time: pauses may be far shorter than the transfer.
  for (let step = end, i = 0; i < GRID && step > least; i += 1) {
    step = Math.floor(step / 4);
    found.add(Math.max(least, step));
  }
  for (let i = 1; i < 4; i += 1) found.add(Math.floor(least + ((end - least) * i) / 4));
  return [...found].sort((a, b) => a - b).map((v) => v * scale);
}

function bestOf(values: readonly number[], ratios: Ratios): number {
  return values.reduce((a, b) => (ratios.residual(b) < ratios.residual(a) ? b : a));
}

/** The least-squares value between the neighbours of the best of the grid, a value the model has. */
function settle(unknown: Unknown, grid: readonly number[], ratios: Ratios): number {
  const start = bestOf(grid, ratios);
  const at = grid.indexOf(start);
  const low = grid[Math.max(0, at - 1)]!;
  const high = grid[Math.min(grid.length - 1, at + 1)]!;
  const { scale } = unknown;
  if (high - low < scale) return start;
  // The fit sees the unknown as a part of its interval: seconds would be too small for its steps.
  const within = (part: number) => low + part * (high - low);
  const fit = leastSquares(
    {
      parameters: [
        {
          name: unknown.id,
          start: (start - low) / (high - low),
          low: 0,
          high: 1,
          step: Math.max(1e-4, Math.min(0.05, scale / (high - low))),
        },
      ],
      observed: ratios.at(low).map(() => 1),
      model: ([part]) => ratios.at(within(part!)),
    },
    { starts: [[0.05], [0.5], [0.95]], mostSteps: 40 },
  );
  const found = within(fit.found ? fit.values[0]! : fit.lowest.values[0]!);
  const whole = Math.floor(found / scale);
  const near = [whole, whole + 1].map((v) => v * scale).filter((v) => v >= low && v <= high);
  return bestOf([start, ...near], ratios);
}

function describe(
  points: readonly PredictedPoint[],
  { first, each }: SharedUnknown,
  value: number,
  residual: number,
): FittedOne {
  const own = modelValue(first, value);
  const moved = points.flatMap(({ at, prediction }, i) => {
    const unknown = each[i];
    if (unknown === undefined) return [];
    const corner = cornerWith(at.network, unknown, modelValue(unknown, value));
    const account = changedMost(prediction.center, evaluate(at.network, corner));
    return account ? [account] : [];
  });
  const [account] = moved;
  const unknown = { ...explanationOf(first, own), residual, ...(account ? { account } : {}) };
  return { unknown, outside: timesOutside(first, own) };
}
