/**
 * One point as sums of products: for a stream alone a resource takes of the time of a transfer a part
 * that is straight in each delay and in the reciprocal of each rate, so a few exact evaluations of the
 * network give all coefficients. A fit then costs a few multiplications a point. How a set-up lies beside
 * a window is not straight and is left out here: fits and predictions bring the compiled time to the exact
 * one by a factor where they stand.
 */
import { div, type Rational, rational, sub, toNumber } from '../../quantity/index.ts';
import type { Case } from '../../system/case.ts';
import { type Evaluation, evaluate } from '../../system/evaluate.ts';
import type { Network } from '../../system/network.ts';
import { keyOf, type PointSpec, pointNetwork } from '../point-model.ts';
import { type CalibrationKey, parameterOf, type Values } from './parameters.ts';

/** A coordinate: a value, its reciprocal, or one of the two parts of a pause. */
interface Coordinate {
  readonly key: CalibrationKey;
  /** Index of the parameter in a corner. */
  readonly index: number;
  /** Seconds a tick of the parameter; 1 where it counts no ticks. */
  readonly perTick: number;
  readonly form: 'linear' | 'reciprocal' | 'below' | 'above';
  /** Ticks where the parts of a pause meet. */
  readonly knot: number;
  /** The two values, in the model's unit, at which the network is evaluated. */
  readonly probes: readonly [number, number];
}

/** Time of one resource: constant + Σ linear·u + Σ product·u·v, seconds. */
interface Term {
  readonly constant: number;
  readonly linear: readonly number[];
  readonly products: readonly (readonly [a: number, b: number, factor: number])[];
}

/** A time and its slope with each free parameter. */
export interface Timed {
  readonly seconds: number;
  readonly slopes: readonly number[];
}

/** A placeholder of each kind, so that the network has the parameter at all. */
const placeholder = { s: 1e-9, Hz: 1e8, B: 64, '': 4 } as const;

/** A time that a fit can walk on. */
export interface Walkable {
  seconds(values: Values): number;
  smooth(values: Values, keys: readonly CalibrationKey[], doublings: number): Timed;
}

/** The same times and slopes by a factor. */
export function scaled(point: Walkable, factor: number): Walkable {
  return {
    seconds: (values) => point.seconds(values) * factor,
    smooth: (values, keys, doublings) => {
      const { seconds, slopes } = point.smooth(values, keys, doublings);
      return { seconds: seconds * factor, slopes: slopes.map((s) => s * factor) };
    },
  };
}

export class CompiledPoint implements Walkable {
  readonly free: readonly CalibrationKey[];
  readonly #coordinates: readonly Coordinate[];
  readonly #terms: readonly Term[];

  /**
   * @param fixed values laid over the case that do not move
   * @param free parameters that move, none of them of single choices
   */
  constructor(c: Case, point: PointSpec, fixed: Values, free: readonly CalibrationKey[]) {
    this.free = free.filter((key) => actsOn(key, point, c));
    const open = Object.fromEntries(
      this.free.map((key) => [key, placeholder[parameterOf(key).unit]]),
    );
    const network = pointNetwork(c, { ...fixed, ...open }, point);
    this.#coordinates = this.free.flatMap((key) => coordinatesOf(key, network));
    this.#terms = termsOf(network, this.#coordinates);
  }

  /** Exact form: the resource that takes longest. `values` has every free parameter. */
  seconds(values: Values): number {
    const at = this.#coordinates.map((c) => coordinateOf(c, values[c.key]!));
    let most = 0;
    for (const term of this.#terms) most = Math.max(most, timeOf(term, at));
    return most;
  }

  /**
   * A smooth time at or above the exact one: the power mean of the resources without its division, of
   * the power 2^doublings. A fit walks on it from soft to sharp, since resources that do not bind yet
   * would show no slope.
   *
   * @param keys the order of the slopes
   */
  smooth(values: Values, keys: readonly CalibrationKey[], doublings: number): Timed {
    const coordinates = this.#coordinates;
    const terms = this.#terms;
    const at = new Array<number>(coordinates.length);
    for (let i = 0; i < at.length; i++)
      at[i] = coordinateOf(coordinates[i]!, values[coordinates[i]!.key]!);
    const times = new Array<number>(terms.length);
    let most = 0;
    for (let r = 0; r < times.length; r++) {
      times[r] = timeOf(terms[r]!, at);
      if (times[r]! > most) most = times[r]!;
    }
    const powers = new Array<number>(times.length);
    let sum = 0;
    for (let r = 0; r < times.length; r++) {
      let power = times[r]! / most;
      for (let k = 0; k < doublings; k++) power *= power;
      powers[r] = power;
      sum += power;
    }
    let root = sum;
    for (let k = 0; k < doublings; k++) root = Math.sqrt(root);
    const perCoordinate = new Array<number>(at.length).fill(0);
    for (let r = 0; r < times.length; r++) {
      // d(Σ t^p)^(1/p) = Σ t^(p−1) dt (Σ t^p)^(1/p−1)
      const weight = times[r] === 0 ? 0 : ((powers[r]! * most) / times[r]!) * (root / sum);
      if (weight >= weightLeast) addSlopes(perCoordinate, weight, terms[r]!, at);
    }
    const slopes = keys.map(() => 0);
    for (let i = 0; i < at.length; i++) {
      const c = coordinates[i]!;
      const column = keys.indexOf(c.key);
      if (column >= 0) slopes[column]! += perCoordinate[i]! * chainOf(c, values[c.key]!);
    }
    return { seconds: most * root, slopes };
  }
}

/** Below this part of the whole a resource has no say in a slope. */
const weightLeast = 1e-12;

/** Coordinate of a value in base units. */
function coordinateOf({ form, knot, perTick }: Coordinate, value: number): number {
  if (form === 'reciprocal') return 1 / value;
  const ticks = value / perTick;
  if (form === 'linear') return ticks;
  return form === 'below' ? Math.min(ticks, knot) : Math.max(0, ticks - knot);
}

/** Slope of a coordinate with its value. */
function chainOf({ form, knot, perTick }: Coordinate, value: number): number {
  if (form === 'reciprocal') return -1 / (value * value);
  if (form === 'linear') return 1 / perTick;
  const below = value / perTick < knot;
  return below === (form === 'below') ? 1 / perTick : 0;
}

/** Whether a parameter has any part in a transfer of this kind. */
function actsOn(key: CalibrationKey, point: PointSpec, c: Case): boolean {
  const { kinds, choices, part } = parameterOf(key);
  if (choices) throw new RangeError(`${key}: expected a parameter that moves freely`);
  if (part === 'host' && !c.host) return false;
  if (key === 'translation.miss' && !(c.host?.translation && c.settings.working_set)) return false;
  return kinds.includes(point.kind);
}

/** Index of the network's parameter; -1 where this network has none. */
export function indexOf(network: Network, key: CalibrationKey): number {
  const { entry, part } = parameterOf(key);
  const [module, host] = [network.path[0]!, network.path.at(-1)!];
  const side = key.startsWith('write_') ? ' writes' : key.startsWith('read_path') ? ' reads' : '';
  const id = `${part === 'host' ? host : module + side}.${entry}`;
  return network.parameters.entries.findIndex((e) => e.id === id);
}

/** Seconds a tick of a delay: an engine's delays count in ticks of the first link, a receiver's of its own. */
export function tickOf(network: Network, key: CalibrationKey): number {
  const last = network.hops[network.path.length - 2]!;
  return toNumber((key === 'credit_return' ? last : network.hops[0]!).tick);
}

function coordinatesOf(key: CalibrationKey, network: Network): Coordinate[] {
  const index = indexOf(network, key);
  if (index < 0) return [];
  const { unit, form } = parameterOf(key);
  if (key === 'gap_per_packet') {
    const hop = network.hops[0]!;
    const { lost } = hop.fabric.compensation(hop.configure(network.parameters.expected()));
    const knot = Math.max(1, lost);
    const at = { key, index, knot, perTick: tickOf(network, key) };
    return [
      { ...at, form: 'below', probes: [0, knot] },
      { ...at, form: 'above', probes: [knot, 2 * knot + 1000] },
    ];
  }
  const probes: [number, number] =
    form === 'linear' ? [1000, 3000] : unit === 'Hz' ? [1_000_000, 2_000_000] : [1, 2];
  const perTick = unit === 's' ? tickOf(network, key) : 1;
  return [{ key, index, perTick, form, knot: 0, probes }];
}

/** Value of a coordinate at one of its probes, exact. */
function coordinateAt({ form, knot }: Coordinate, value: number): Rational {
  if (form === 'reciprocal') return rational(1, value);
  return rational(form === 'above' ? value - knot : value);
}

function termsOf(network: Network, coordinates: readonly Coordinate[]): Term[] {
  const corner = network.parameters.expected();
  // A later coordinate of one parameter overwrites the earlier: a pause starts at its knot.
  const at = (second: readonly number[]) => {
    const values = [...corner];
    coordinates.forEach((c, i) => {
      if (c.form === 'below' && second.includes(i + 1)) values[c.index] = c.probes[1];
      else if (c.form !== 'above') values[c.index] = c.probes[second.includes(i) ? 1 : 0];
      else if (second.includes(i)) values[c.index] = c.probes[1];
    });
    return timesOf(network, evaluate(network, values));
  };
  const base = at([]);
  // A list of another length would pair the times of different resources.
  const same = (times: readonly Rational[]) => {
    if (times.length === base.length) return times;
    throw new RangeError(`expected ${base.length} resources at every probe; got ${times.length}`);
  };
  const single = coordinates.map((_, i) => same(at([i])));
  const knotTimes = coordinates.map((c, i) => (c.form === 'above' ? single[i - 1]! : base));
  const steps = coordinates.map((c) =>
    sub(coordinateAt(c, c.probes[1]), coordinateAt(c, c.probes[0])),
  );
  const first = coordinates.map((c) => coordinateAt(c, c.probes[0]));
  const pairs = pairsOf(coordinates).map(([a, b]) => ({ a, b, times: same(at([a, b])) }));
  return base.map((time, r) => {
    const slopes = coordinates.map((_, i) =>
      div(sub(single[i]![r]!, knotTimes[i]![r]!), steps[i]!),
    );
    const products = pairs.flatMap(({ a, b, times }) => {
      const more = sub(sub(times[r]!, single[a]![r]!), sub(single[b]![r]!, time));
      if (more.n === 0n) return [];
      return [[a, b, toNumber(div(div(more, steps[a]!), steps[b]!))] as const];
    });
    return expanded(toNumber(time), slopes.map(toNumber), products, first.map(toNumber));
  });
}

/** Pairs whose product may count; a pause adds to an engine alone. */
function pairsOf(coordinates: readonly Coordinate[]): [number, number][] {
  const pairs: [number, number][] = [];
  coordinates.forEach((a, i) => {
    coordinates.forEach((b, j) => {
      if (j <= i || a.knot > 0 || b.knot > 0) return;
      pairs.push([i, j]);
    });
  });
  return pairs;
}

/** From differences about the first probes to sums of products of the coordinates themselves. */
function expanded(
  base: number,
  slopes: readonly number[],
  products: Term['products'],
  first: readonly number[],
): Term {
  let constant = base;
  const linear = [...slopes];
  slopes.forEach((slope, i) => {
    constant -= slope * first[i]!;
  });
  for (const [a, b, factor] of products) {
    constant += factor * first[a]! * first[b]!;
    linear[a]! -= factor * first[b]!;
    linear[b]! -= factor * first[a]!;
  }
  return { constant, linear, products };
}

/** Seconds of a transfer by resource, exact. */
function timesOf(network: Network, { resources, demands }: Evaluation): Rational[] {
  const { hop } = network.streams[0]!.crossings[0]!;
  const transfers = demands[hop]![0]!.transfers;
  const { n, d } = network.tick;
  const own = resources.fills.filter((_, r) => {
    // A set-up beside a window follows it with the window's own words: not straight, and not always there.
    return r === 0 || resources.infos[r] !== resources.infos[r - 1];
  });
  return own.map(({ use, capacity }) =>
    rational(use[0]! * capacity.d * n, capacity.n * BigInt(transfers) * d),
  );
}

function timeOf({ constant, linear, products }: Term, at: readonly number[]): number {
  let time = constant;
  for (let i = 0; i < linear.length; i++) time += linear[i]! * at[i]!;
  for (const [a, b, factor] of products) time += factor * at[a]! * at[b]!;
  return time;
}

/** Adds the slopes of a term, times a weight, with each coordinate. */
function addSlopes(into: number[], weight: number, term: Term, at: readonly number[]): void {
  const { linear, products } = term;
  for (let i = 0; i < linear.length; i++) into[i]! += weight * linear[i]!;
  for (const [a, b, factor] of products) {
    into[a]! += weight * factor * at[b]!;
    into[b]! += weight * factor * at[a]!;
  }
}

/** Compiled points of one case, kept by point, fixed values and free parameters. */
export class Compiler {
  readonly #case: Case;
  readonly #known = new Map<string, CompiledPoint>();

  constructor(c: Case) {
    this.#case = c;
  }

  point(point: PointSpec, fixed: Values, free: readonly CalibrationKey[]): CompiledPoint {
    const key = `${keyOf(point)} ${JSON.stringify(Object.entries(fixed).sort())} ${free.join()}`;
    let found = this.#known.get(key);
    if (!found) {
      found = new CompiledPoint(this.#case, point, fixed, free);
      this.#known.set(key, found);
    }
    return found;
  }
}
