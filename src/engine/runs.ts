/** Independent runs of one simulation: their seeds, their figures, and intervals over them. */
import { splitSeed } from '../kernel/index.ts';
import type { LedgerDirection } from '../model/answer.ts';
import { accountTitle } from '../model/ledger.ts';
import type { RunFigure, SimulatedLatency, SimulationDocument } from '../model/simulation.ts';
import { meanInterval } from '../numeric/intervals.ts';

const confidence = 0.9;

/** One figure of one run; figures of different runs with the same words are the same figure. */
export interface Figure extends Pick<RunFigure, 'of' | 'figure' | 'unit'> {
  readonly value: number;
}

/**
 * Seeds of `count` runs: the first is `seed` itself, so that it is the run shown without others;
 * each further one is a function of `seed` and its number alone.
 */
export function runSeeds(seed: number, count: number): number[] {
  return Array.from({ length: count }, (_, run) => (run === 0 ? seed : splitSeed(seed, run)));
}

const latencyTitles = [
  ['p50', 'latency p50'],
  ['p99', 'latency p99'],
  ['p999', 'latency p99.9'],
  ['most', 'latency max'],
] as const satisfies readonly (readonly [keyof SimulatedLatency, string])[];

function wire(hop: string, direction: LedgerDirection): string {
  if (direction === 'both') return `${hop}, both ways`;
  return `${hop}, towards the ${direction === 'up' ? 'host' : 'module'}`;
}

/** Every figure of one run that may differ in another. */
export function figuresOf(run: SimulationDocument): Figure[] {
  const figures: Figure[] = [];
  for (const { name, simulated, latency } of run.streams) {
    figures.push({ of: name, figure: 'rate', unit: 'B/s', value: simulated });
    for (const [key, figure] of latencyTitles) {
      figures.push({ of: name, figure, unit: 's', value: latency[key] });
    }
  }
  for (const { hop, direction, simulated } of run.links) {
    for (const { account, stream, share } of simulated.ledger) {
      const whose = stream === undefined ? '' : ` of ${stream}`;
      const figure = `share of ${accountTitle(account)}${whose}`;
      figures.push({ of: wire(hop, direction), figure, unit: 'share', value: share });
    }
  }
  for (const { hop, direction, unacknowledged, credits } of run.peaks) {
    const of = wire(hop, direction);
    figures.push({ of, figure: 'unacknowledged packets', unit: 'count', value: unacknowledged });
    for (const { credit, channel, headers, units } of credits) {
      const out = `${credit} credits out, channel ${channel}`;
      figures.push({ of, figure: `${out}, headers`, unit: 'count', value: headers });
      figures.push({ of, figure: `${out}, units`, unit: 'count', value: units });
    }
  }
  run.queues.forEach(({ from, to, most }, i) => {
    figures.push({ of: `${from} to ${to}`, figure: `queue ${i + 1}`, unit: 'count', value: most });
  });
  return figures;
}

/**
 * The document with its runs: an interval for each figure that is not equal in all of them.
 *
 * @param runs figures of each run in the order of `seeds`, at least two
 */
export function withRuns(
  document: SimulationDocument,
  seeds: readonly number[],
  runs: readonly (readonly Figure[])[],
): SimulationDocument {
  const values = new Map<string, { figure: Figure; values: number[] }>();
  runs.forEach((figures, run) => {
    for (const figure of figures) {
      const key = `${figure.of}\u0000${figure.figure}`;
      // An account that one run never charged has a share of 0 there.
      const known = values.get(key) ?? { figure, values: new Array<number>(runs.length).fill(0) };
      known.values[run] = figure.value;
      values.set(key, known);
    }
  });
  const all = [...values.values()];
  const varying = all.filter(({ values: [first, ...rest] }) => rest.some((v) => v !== first));
  const figures = varying.map(
    ({ figure: { of, figure, unit }, values }): RunFigure => ({
      of,
      figure,
      unit,
      ...meanInterval(values, confidence),
    }),
  );
  const equal = all.length - varying.length;
  return { ...document, runs: { count: runs.length, seeds, confidence, figures, equal } };
}
