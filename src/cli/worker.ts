/** The worker's end of `pool.ts`. */
import { parentPort, workerData } from 'node:worker_threads';
import type { TaskDone } from './pool.ts';

/**
 * Serves tasks until the pool ends this thread. `open` gets what all workers share and gives what a
 * task number is worked out with. Does nothing outside a worker.
 */
export function serveTasks<Shared, Result>(
  open: (shared: Shared) => (task: number) => Result,
): void {
  const port = parentPort;
  if (!port) return;
  const work = open(workerData as Shared);
  port.on('message', (task: number) => {
    const done: TaskDone<Result> = { task, result: work(task) };
    port.postMessage(done);
  });
}
