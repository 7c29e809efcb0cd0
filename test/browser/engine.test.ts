/** The engine gives the same documents, byte for byte, in a headless browser as in Node. */

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import * as engine from '../../src/engine/index.ts';
import {
  answerCase,
  type Library,
  type SimulateOptions,
  simulateCase,
} from '../../src/engine/index.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';
import { browserPresent, startBrowser } from '../report/browser.ts';
import { bundleEngine } from './bundle.ts';

type Source = { readonly file: string; readonly text: string };

const parts: Source[] = demoLibrary.ids().map((id) => demoLibrary.find(id)!);

/** What the page has at hand once the engine is loaded. */
interface Loaded {
  engine: typeof engine;
  library: Library;
  severalRuns: typeof severalRuns;
}

const time = { n: 1n, d: 10_000n };
const random: SimulateOptions = { seed: 5, time, skip: false, readDelay: 'exponential' };
const simulated: readonly { file: string; options: SimulateOptions }[] = [
  { file: 'recorder.yaml', options: { seed: 1, time, skip: false } },
  { file: 'recorder-neighbour.yaml', options: { seed: 1, time, arbitration: 'round robin' } },
  { file: 'recorder-x8.yaml', options: { seed: 1, time } },
  { file: 'recorder-programmed.yaml', options: random },
];

/** The document of four runs; its text runs in the page too, so it uses nothing around it. */
function severalRuns(
  { openSimulation, runSeeds, figuresOf, withRuns }: typeof engine,
  library: Library,
  source: Source,
  options: SimulateOptions,
): string {
  const opened = openSimulation(source, library, options);
  if (!opened.ok) return JSON.stringify(opened);
  const seeds = runSeeds(options.seed, 4);
  const runs = seeds.map((seed) => {
    const run = opened.value.run(seed);
    if (!run.ok) throw new Error(JSON.stringify(run));
    return run.value;
  });
  const all = runs.map((run) => figuresOf(run));
  return JSON.stringify(withRuns(runs[0]!, seeds, all), undefined, 2);
}

describe.skipIf(!browserPresent)('in Chromium', () => {
  let browser: Browser;
  let page: Page;

  beforeAll(async () => {
    const code = await bundleEngine();
    browser = await startBrowser();
    page = await browser.newPage();
    await page.addScriptTag({ content: code });
    await page.evaluate((sources) => {
      const loaded = globalThis as unknown as Loaded;
      loaded.library = loaded.engine.libraryOf(sources).library;
    }, parts);
  });
  afterAll(async () => browser?.close());

  test.each(surveyCases)('the answer to $file', async (source) => {
    const options = { fit: true, rate: true };
    const there = await page.evaluate(
      ({ source, options }) => {
        const { engine, library } = globalThis as unknown as Loaded;
        return JSON.stringify(engine.answerCase(source, library, options), undefined, 2);
      },
      { source, options },
    );
    expect(there).toBe(JSON.stringify(answerCase(source, demoLibrary, options), undefined, 2));
  });

  test.each(simulated)('the simulation of $file, $options', async ({ file, options }) => {
    const source = surveyCases.find((c) => c.file.endsWith(`/${file}`))!;
    const there = await page.evaluate(
      ({ source, options }) => {
        const { engine, library } = globalThis as unknown as Loaded;
        return JSON.stringify(engine.simulateCase(source, library, options), undefined, 2);
      },
      { source, options },
    );
    const here = simulateCase(source, demoLibrary, options);
    expect(here.ok).toBe(true);
    expect(there).toBe(JSON.stringify(here, undefined, 2));
  });

  test('several runs and their intervals', async () => {
    const source = surveyCases.find(({ file }) => file.endsWith('/recorder-programmed.yaml'))!;
    await page.addScriptTag({ content: `globalThis.severalRuns = ${severalRuns}` });
    const there = await page.evaluate(
      ({ source, options }) => {
        const { engine, library, severalRuns } = globalThis as unknown as Loaded;
        return severalRuns(engine, library, source, options);
      },
      { source, options: random },
    );
    expect(there).toContain('"figure": "latency p99"');
    expect(there).toBe(severalRuns(engine, demoLibrary, source, random));
  });
});
