import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { runTasks } from '../../src/cli/pool.ts';

/** A worker that answers later the lower the task, so that results come in another order. */
const slowFirst = `
import { parentPort, workerData } from 'node:worker_threads';
parentPort.on('message', (task) => {
  if (task === workerData.fault) throw new Error('task ' + task + ' cannot be done');
  if (task === workerData.quit) process.exit(7);
  const result = { square: task * task, added: workerData.add };
  setTimeout(() => parentPort.postMessage({ task, result }), 20 - 2 * task);
});
`;

describe('worker pool', () => {
  let folder: string;
  let module: URL;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'lanewright-pool-'));
    const file = join(folder, 'worker.mjs');
    writeFileSync(file, slowFirst);
    module = pathToFileURL(file);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test.each([1, 2, 4, 20])('%i workers give the results by number', async (workers) => {
    const seen: number[] = [];
    const onDone = (done: number) => seen.push(done);
    const results = await runTasks({ module, shared: { add: 5 }, tasks: 8, workers, onDone });
    expect(results).toEqual(
      Array.from({ length: 8 }, (_, task) => ({ square: task * task, added: 5 })),
    );
    expect(seen).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
  });

  test('a fault in one task, or a worker that ends, rejects and ends the others', async () => {
    const run = (shared: object) => runTasks({ module, shared, tasks: 8, workers: 3 });
    await expect(run({ fault: 4 })).rejects.toThrow('task 4 cannot be done');
    await expect(run({ quit: 4 })).rejects.toThrow('a worker ended early, status 7');
  });
});
