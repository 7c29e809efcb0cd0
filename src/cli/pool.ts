/** Worker threads for numbered tasks; the results are the same for any number of workers. */
import { Worker } from 'node:worker_threads';

/** What a worker answers a task with. */
export interface TaskDone<Result> {
  readonly task: number;
  readonly result: Result;
}

export interface PoolOptions {
  /** The module each worker runs; it serves tasks with `serveTasks` of `worker.ts`. */
  readonly module: URL;
  /** Given to every worker once, as its `workerData`; must survive a structured clone. */
  readonly shared: unknown;
  /** Tasks, numbered from 0. */
  readonly tasks: number;
  /** Threads, at least 1; never more than there are tasks. */
  readonly workers: number;
  /** Called after each result with how many there are. */
  readonly onDone?: (done: number) => void;
}

/**
 * Runs every task once and gives the results by number, whichever came first. One fault ends all
 * workers and rejects with it.
 */
export async function runTasks<Result>(options: PoolOptions): Promise<Result[]> {
  const { module, shared, tasks, onDone } = options;
  const results = new Array<Result>(tasks);
  const threads = Array.from(
    { length: Math.min(options.workers, tasks) },
    () => new Worker(module, { workerData: shared }),
  );
  let next = 0;
  let done = 0;
  const serve = (thread: Worker) =>
    new Promise<void>((resolve, reject) => {
      const hand = () => {
        if (next < tasks) thread.postMessage(next++);
        else resolve();
      };
      thread.on('message', ({ task, result }: TaskDone<Result>) => {
        results[task] = result;
        onDone?.(++done);
        hand();
      });
      thread.on('error', reject);
      thread.on('exit', (status) => reject(new Error(`a worker ended early, status ${status}`)));
      hand();
    });
  try {
    await Promise.all(threads.map(serve));
  } finally {
    await Promise.all(threads.map((thread) => thread.terminate()));
  }
  return results;
}
