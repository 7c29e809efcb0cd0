/**
 * What kind of time the difference is, told by how it grows with the transfer: each shape is a model of
 * the measured times beside the predicted ones, fitted by least squares of relative times; of those
 * that the points support alike the one with the fewest parameters is taken.
 */
import type { Shape, ShapeId } from '../../model/reconcile.ts';
import { type Candidate, chooseModel, leastSquares } from '../../numeric/fit/index.ts';
import { formatRate, formatSize, formatTime } from '../../quantity/index.ts';
import { firstDemand } from '../../system/cycles.ts';
import { expectedSeconds, measuredSeconds, type PredictedPoint, residualOf } from './predicted.ts';

/** One point as shapes see it. Seconds of one transfer. */
interface Seen {
  readonly bytes: number;
  readonly packets: number;
  readonly predicted: number;
  readonly measured: number;
}

/** A shape to try: times from its parameters, and what it says once they are known. */
interface Hypothesis {
  readonly id: ShapeId;
  readonly name: string;
  readonly parameters: number;
  /** Guess of each parameter from the points, in the unit of the model. */
  start(seen: readonly Seen[]): readonly number[];
  time(seen: Seen, values: readonly number[]): number;
  say(values: readonly number[]): string;
}

/** Sizes in whose steps a device may work. */
const stepSizes = [64, 128, 256, 512, 1024, 2048, 4096] as const;

/** Parameters of the fits are in nanoseconds: seconds are too small for its steps. */
const NS = 1e9;
const time = (ns: number) => formatTime(Math.abs(ns) / NS);
const moreOrLess = (ns: number) => (ns < 0 ? 'less' : 'more');

function averageOver(seen: readonly Seen[], of: (s: Seen) => number): number {
  const excess = seen.map((s) => ((s.measured - s.predicted) * NS) / of(s));
  return excess.reduce((a, b) => a + b, 0) / excess.length;
}

function constant(id: ShapeId, of: (s: Seen) => number, say: (ns: number) => string): Hypothesis {
  return {
    id,
    name: id,
    parameters: 1,
    start: (seen) => [averageOver(seen, of)],
    time: (s, [a]) => s.predicted + (a! * of(s)) / NS,
    say: ([a]) => say(a!),
  };
}

const hypotheses: readonly Hypothesis[] = [
  constant(
    'per transfer',
    () => 1,
    (ns) => `each transfer takes ${time(ns)} ${moreOrLess(ns)}, whatever its size: a set-up`,
  ),
  constant(
    'per packet',
    (s) => s.packets,
    (ns) => `each packet takes ${time(ns)} ${moreOrLess(ns)}: a pause between packets`,
  ),
  constant(
    'per byte',
    (s) => s.bytes,
    (ns) =>
      `each KiB takes ${time(ns * 1024)} ${moreOrLess(ns)}: a copy, or another step in series ` +
      'with the link',
  ),
  {
    id: 'plateau',
    name: 'plateau',
    parameters: 1,
    start: (seen) => [Math.max(...seen.map((s) => (s.measured / s.bytes) * NS))],
    time: (s, [a]) => Math.max(s.predicted, (a! * s.bytes) / NS),
    say: ([a]) =>
      `the rate stays at ${formatRate(NS / a!)}, whatever the link: reads or credits in flight over ` +
      "their latency, or a data path beside the link's",
  },
  {
    id: 'floor',
    name: 'floor',
    parameters: 1,
    start: (seen) => [Math.min(...seen.map((s) => s.measured)) * NS],
    time: (s, [a]) => Math.max(s.predicted, a! / NS),
    say: ([a]) => `no transfer takes less than ${time(a!)}: a time per command beside the link`,
  },
  ...stepSizes.map(
    (size): Hypothesis => ({
      id: 'steps',
      name: `steps of ${size}`,
      parameters: 2,
      start: (seen) => {
        const first = Math.min(...seen.map((s) => s.measured)) * NS;
        return [first / 2, first / 2];
      },
      time: (s, [a, b]) => Math.max(s.predicted, (a! + b! * Math.ceil(s.bytes / size)) / NS),
      say: ([a, b]) =>
        `the time rises in steps of ${formatSize(size)}: ${time(b!)} for each step begun and ` +
        `${time(a!)} for each transfer, beside the link`,
    }),
  ),
];

/** The shape of the difference, and the others that the points do not decide against. */
export interface Shapes {
  readonly shape?: Shape;
  readonly others: readonly Shape[];
}

/** @param points possible as stated, of one stream and kind */
export function shapeOf(points: readonly PredictedPoint[]): Shapes {
  const seen = points.map(seenOf);
  const before = residualOf(seen.map((s) => s.predicted / s.measured));
  const fitted = simplest(hypotheses.flatMap((h) => fitShape(h, seen, before)));
  if (fitted.length === 0) return { others: [] };
  const choice = chooseModel(fitted.map((f) => f.candidate));
  const byName = new Map(fitted.map((f) => [f.candidate.name, f]));
  const chosen = choice.chosen === undefined ? undefined : byName.get(choice.chosen);
  // Too few points to judge by: shapes of one parameter, by what they leave.
  const pool = chosen
    ? [chosen, ...choice.alsoSupported.map((name) => byName.get(name)!)]
    : fitted.filter((f) => f.parameters === 1).sort((a, b) => a.shape.residual - b.shape.residual);
  const [best, ...rest] = pool;
  if (best === undefined) return { others: [] };
  const others = chosen ? rest : rest.filter((f) => isAlike(f, best));
  // With one size of transfer every shape of one parameter fits: then none is told.
  const told = !others.some((f) => f.parameters === best.parameters && isAlike(f, best));
  const shapes = others.map((f) => f.shape);
  return told ? { shape: best.shape, others: shapes } : { others: [best.shape, ...shapes] };
}

interface Fitted {
  readonly candidate: Candidate;
  readonly shape: Shape;
  readonly parameters: number;
}

/** Without shapes of two parameters where one parameter does as well: rounding is no reason for two. */
function simplest(fitted: readonly Fitted[]): readonly Fitted[] {
  const best = [...fitted].sort((a, b) => a.shape.residual - b.shape.residual)[0];
  const single = fitted.filter((f) => f.parameters === 1);
  return best && single.some((f) => isAlike(f, best)) ? single : fitted;
}

/** Two shapes that leave residuals alike to a thousandth cannot be told apart by any timing. */
function isAlike(a: Fitted, b: Fitted): boolean {
  return Math.abs(a.shape.residual - b.shape.residual) <= 1e-3;
}

function seenOf(point: PredictedPoint): Seen {
  const { at, prediction } = point;
  const { sent, transfers } = firstDemand(at.network, prediction.center.demands, 0);
  return {
    bytes: prediction.bytes,
    packets: sent.packets / transfers,
    predicted: expectedSeconds(point),
    measured: measuredSeconds(point),
  };
}

/** A shape has to take away half of the residual to be worth a word. */
const HALF = 0.5;

function fitShape(h: Hypothesis, seen: readonly Seen[], before: number): Fitted[] {
  if (h.parameters > seen.length) return [];
  const start = h.start(seen);
  const names = start.map((_, i) => `p${i}`);
  const model = (values: readonly number[]) => seen.map((s) => h.time(s, values) / s.measured);
  const result = leastSquares(
    {
      parameters: names.map((name, i) => ({ name, start: start[i]! })),
      observed: seen.map(() => 1),
      model,
    },
    { starts: startsAround(start), mostSteps: 60 },
  );
  if (!result.found) return [];
  const residual = residualOf(model(result.values));
  if (!(residual <= before * HALF)) return [];
  // A time below nothing for a step, or for a command, is no such thing.
  if (h.id === 'steps' && result.values[1]! <= 0) return [];
  const text = h.say(result.values);
  const shape = { id: h.id, text, residual };
  return [{ candidate: { name: h.name, fit: result }, shape, parameters: h.parameters }];
}

function startsAround(start: readonly number[]): number[][] {
  return [2, 0.5].map((factor) => start.map((value) => value * factor));
}
