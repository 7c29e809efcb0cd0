/** A headless browser for the tests that look at rendered pages; absent tools are skipped, counted. */
import { existsSync } from 'node:fs';
import { type Browser, chromium, type Page } from 'playwright-core';

const executablePath = '/usr/bin/chromium';

/** True when the browser that `.ci/run` installs is there. */
export const browserPresent = existsSync(executablePath);

/** Starts the browser without any traffic of its own. */
export function startBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** Shows a page and returns what it tried to fetch and what it complained about. */
export async function show(
  page: Page,
  html: string,
): Promise<{ fetched: string[]; said: string[] }> {
  const fetched: string[] = [];
  const said: string[] = [];
  page.on('request', (r) => fetched.push(r.url()));
  page.on('console', (m) => said.push(m.text()));
  page.on('pageerror', (e) => said.push(e.message));
  page.on('dialog', (d) => {
    said.push(`dialog: ${d.message()}`);
    d.dismiss().catch(() => {});
  });
  await page.setContent(html, { waitUntil: 'load' });
  return { fetched, said };
}
