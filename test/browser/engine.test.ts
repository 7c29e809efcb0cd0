/** The engine gives the same documents, byte for byte, in a headless browser as in Node. */

import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type * as Engine from '../../src/engine/index.ts';
import { answerCase, type Library } from '../../src/engine/index.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';
import { browserPresent, startBrowser } from '../report/browser.ts';
import { bundleEngine } from './bundle.ts';

type Source = { readonly file: string; readonly text: string };

const parts: Source[] = demoLibrary.ids().map((id) => demoLibrary.find(id)!);

/** What the page has at hand once the engine is loaded. */
interface Loaded {
  engine: typeof Engine;
  library: Library;
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
});
