/** A worker of `simulate --runs`: reads the case once, simulates it with one seed after another. */
import {
  type Figure,
  figuresOf,
  libraryOf,
  openSimulation,
  type Read,
  type SimulateOptions,
  type SourceFile,
} from '../engine/index.ts';
import { serveTasks } from './worker.ts';

/** What all runs share. */
export interface SharedRuns {
  readonly source: SourceFile;
  readonly parts: readonly SourceFile[];
  readonly options: Omit<SimulateOptions, 'seed'>;
  /** The seed of each task by number. */
  readonly seeds: readonly number[];
}

serveTasks<SharedRuns, Read<readonly Figure[]>>(({ source, parts, options, seeds }) => {
  const opened = openSimulation(source, libraryOf(parts).library, options);
  return (task) => {
    if (!opened.ok) return opened;
    const run = opened.value.run(seeds[task]!);
    return run.ok ? { ok: true, value: figuresOf(run.value), warnings: [] } : run;
  };
});
