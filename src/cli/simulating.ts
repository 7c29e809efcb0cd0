/** From a case's name on the command line to its simulation document. */
import { availableParallelism } from 'node:os';
import {
  type CaseSimulation,
  type Figure,
  figuresOf,
  openSimulation,
  type Read,
  runSeeds,
  type SimulateOptions,
  seriesBeginning,
  withRuns,
} from '../engine/index.ts';
import { GrowingFile, relativeName } from '../io/index.ts';
import { parseQuantity, type Rational } from '../quantity/index.ts';
import { type Inputs, readInputs, usable } from './answering.ts';
import { runTasks } from './pool.ts';
import { progressOn } from './progress.ts';
import type { SharedRuns } from './simulate-worker.ts';
import { simulateBusOf } from './simulating-bus.ts';
import type { SimulationDone, SimulationWish } from './simulation-wish.ts';
import { Unusable } from './unusable.ts';

/**
 * Simulates the case file `name`, `-` for standard input. Throws Unusable with every problem of the
 * case, its parts and the options, InputError for files.
 */
export async function simulateFile(
  name: string,
  extraFolders: readonly string[],
  wish: SimulationWish,
): Promise<SimulationDone> {
  const options = optionsOf(wish);
  const step = wish.step === undefined ? undefined : duration('--step', wish.step);
  const inputs = await readInputs(name, extraFolders);
  const bus = await simulateBusOf(inputs, wish, options.time);
  if (bus) return bus;
  const simulation = await usable(openSimulation(inputs.source, inputs.library, options), inputs);
  const first =
    wish.series === undefined
      ? { document: await usable(simulation.run(wish.seed), inputs) }
      : await runWithSeries(simulation, inputs, wish.seed, wish.series, step);
  if (wish.runs === 1) return first;
  const seeds = runSeeds(wish.seed, wish.runs);
  const others = await otherRuns(inputs, options, seeds.slice(1), wish.workers);
  const document = withRuns(first.document, seeds, [figuresOf(first.document), ...others]);
  return { ...first, document };
}

function optionsOf({ time, skip, turns, reads, series }: SimulationWish) {
  const options: Omit<SimulateOptions, 'seed'> = {
    // What is left out has no series, and all runs are to be measured alike.
    skip: skip && series === undefined,
    arbitration: turns === 'equal' ? 'round robin' : 'weighted',
    ...(reads === undefined ? {} : { readDelay: reads }),
  };
  return time === undefined ? options : { ...options, time: duration('--time', time) };
}

/** A duration above 0, seconds. */
function duration(option: string, text: string): Rational {
  const parsed = parseQuantity(text, 'time');
  const value = parsed.ok ? parsed.quantity.expected : undefined;
  if (value !== undefined && value.n > 0n) return value;
  const place = { file: 'command line', line: 1, column: 1 };
  const expected = `a duration above 0 after ${option}`;
  const next = "write a number and a unit, as '10 ms'";
  throw new Unusable([{ code: 'usage', place, expected, got: `'${text}'`, next }]);
}

async function runWithSeries(
  simulation: CaseSimulation,
  inputs: Inputs,
  seed: number,
  path: string,
  step: Rational | undefined,
): Promise<SimulationDone> {
  const series = relativeName(path, process.cwd());
  const file = await GrowingFile.begin(path, { beginning: `${seriesBeginning},` }, series);
  try {
    const write = (row: string) => file.append(row);
    const wish = step === undefined ? { write } : { write, step };
    const document = await usable(simulation.run(seed, wish), inputs);
    file.keep();
    return { document, series };
  } finally {
    file.drop();
  }
}

/** Figures of the runs with these seeds, in order, whatever the number of workers. */
async function otherRuns(
  inputs: Inputs,
  options: Omit<SimulateOptions, 'seed'>,
  seeds: readonly number[],
  workers = availableParallelism(),
): Promise<(readonly Figure[])[]> {
  const { source, library } = inputs;
  const parts = library.ids().map((id) => library.find(id)!);
  const shared: SharedRuns = { source, parts, options, seeds };
  const progress = progressOn(process.stderr, seeds.length + 1, 'runs');
  try {
    const results = await runTasks<Read<readonly Figure[]>>({
      module: new URL('./simulate-worker.js', import.meta.url),
      shared,
      tasks: seeds.length,
      workers,
      onDone: (done) => progress.at(done + 1),
    });
    return await Promise.all(results.map((result) => usable(result, inputs)));
  } finally {
    progress.end();
  }
}
