import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import fc from 'fast-check';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { swatches } from '../../src/figures/palette.ts';
import { accounts } from '../../src/model/accounts.ts';
import { escapeHtml, html } from '../../src/report/html/markup.ts';
import { answerHtml } from '../../src/report/index.ts';
import { browserPresent, show, startBrowser } from './browser.ts';
import { anyAnswer, anyText, hopOf, stream, survey } from './documents.ts';

describe('markup', () => {
  test('escaped text has no character that could end an element or an attribute', () => {
    fc.assert(
      fc.property(anyText, (text) => {
        expect(escapeHtml(text)).not.toMatch(/[<>"']|&(?!(?:amp|lt|gt|quot|#39);)|\p{Cc}/u);
        expect(html`<p title="${text}">${text}</p>`.markup).toMatch(
          /^<p title="[^"<>]*">[^<>]*<\/p>$/,
        );
      }),
    );
  });

  test('documents of hostile names have only the elements of an empty one', () => {
    const own =
      /<\/?(?:!doctype|html|head|meta|title|style|body|main|section|header|h[1-4]|p|dl|div|dt|dd|span|ul|li|article|table|caption|thead|tbody|tr|th|td|svg|defs|pattern|path|rect|text|line|ol|a|strong)[ >]/gi;
    fc.assert(
      fc.property(anyAnswer, (answer) => {
        const page = answerHtml(answer);
        expect(page.replace(own, '')).not.toMatch(/<[a-z!/]/i);
        expect(page.replace(/"[^"]*"/g, '""')).not.toMatch(/<[^>]*\son\w+=/i);
      }),
      { numRuns: 80 },
    );
  });
});

/** Relative luminance and contrast ratio by WCAG 2.2, section "Definitions". */
function contrast(a: string, b: string): number {
  const luminance = (colour: string) => {
    const [r, g, blue] = [1, 3, 5].map((at) => {
      const c = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r! + 0.7152 * g! + 0.0722 * blue!;
  };
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high! + 0.05) / (low! + 0.05);
}

describe('the palette', () => {
  test('letters stand off their segment by at least 4.5 to 1 (WCAG 2.2, criterion 1.4.3)', () => {
    for (const { id } of accounts) {
      expect(contrast(swatches[id].fill, swatches[id].ink), id).toBeGreaterThanOrEqual(4.5);
    }
  });

  test('no two accounts look the same, and exactly the waiting ones have a pattern', () => {
    const looks = accounts.map((a) => swatches[a.id].fill + (swatches[a.id].pattern ?? ''));
    expect(new Set(looks).size).toBe(accounts.length);
    for (const { id, waiting } of accounts) {
      expect(swatches[id].pattern !== undefined, id).toBe(waiting);
    }
  });
});

const long = 'a-connector-name-without-any-place-to-break-it-'.repeat(6);
const trying = {
  ...survey,
  case: { ...survey.case, title: long, question: '<img src=x onerror=alert(1)>' },
  rate: {
    ...survey.rate!,
    links: [
      hopOf(
        [
          ['payload', 5n, long],
          ['idle', 7n],
        ],
        { hop: long, link: long },
      ),
    ],
    streams: [{ ...stream, name: long, path: [long, long] }],
  },
};

describe.skipIf(!browserPresent)('the page in a browser', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await startBrowser();
  });
  afterAll(async () => {
    await browser.close();
  });

  const schemes = ['light', 'dark'] as const;
  test.each(schemes)('has no accessibility violation in the %s scheme', async (colorScheme) => {
    // The policy of the page forbids scripts; the checker is let past it, the page is not changed.
    const context = await browser.newContext({ colorScheme, bypassCSP: true });
    const page = await context.newPage();
    const source = createRequire(import.meta.url).resolve('axe-core/axe.min.js');
    for (const answer of [survey, trying]) {
      await page.setContent(answerHtml(answer));
      await page.addScriptTag({ content: readFileSync(source, 'utf8') });
      const found = (await page.evaluate('axe.run()')) as {
        violations: unknown[];
        passes: unknown[];
      };
      expect(found.violations).toEqual([]);
      expect(found.passes.length).toBeGreaterThan(10);
    }
    await context.close();
  });

  test('fetches nothing, runs nothing and complains of nothing', async () => {
    const page = await browser.newPage();
    for (const answer of [survey, trying]) {
      const { fetched, said } = await show(page, answerHtml(answer));
      expect(fetched).toEqual([]);
      expect(said).toEqual([]);
    }
    await page.close();
  });

  test('foreign names are shown as text and make no element', async () => {
    const page = await browser.newPage();
    await show(page, answerHtml(trying));
    expect(await page.locator('img, script, iframe').count()).toBe(0);
    const leads = (await page.evaluate(
      `[...document.querySelectorAll('a')].map((a) => a.getAttribute('href'))`,
    )) as string[];
    for (const lead of leads) expect(await page.locator(`[id="${lead.slice(1)}"]`).count()).toBe(1);
    expect(await page.locator('.titleblock').textContent()).toContain(
      '<img src=x onerror=alert(1)>',
    );
    await page.close();
  });

  test.each([360, 768, 1280])('does not scroll sideways at %i px', async (width) => {
    const page = await browser.newPage({ viewport: { width, height: 800 } });
    for (const answer of [survey, trying]) {
      await page.setContent(answerHtml(answer));
      const content = await page.evaluate('document.documentElement.scrollWidth');
      expect(content).toBeLessThanOrEqual(width);
    }
    await page.close();
  });

  test('the bar fills its frame, its segments in proportion to their ticks', async () => {
    const page = await browser.newPage({ viewport: { width: 1000, height: 800 } });
    await page.setContent(answerHtml(survey));
    const widths = (await page.evaluate(`{
      const bar = document.querySelector('.ledger');
      [...bar.querySelectorAll('rect')].map((r) => r.width.baseVal.value / bar.clientWidth);
    }`)) as number[];
    const sum = widths.reduce((a, b) => a + b, 0);
    expect(sum).toBeCloseTo(1, 4);
    expect(widths[0]).toBeCloseTo(5440 / 11383, 3);
    expect(widths.at(-1)).toBeCloseTo(900 / 11383, 3);
    await page.close();
  });

  test('headings follow one another without a jump and sections are numbered', async () => {
    const page = await browser.newPage();
    await page.setContent(answerHtml(survey));
    const levels = (await page.evaluate(
      `[...document.querySelectorAll('h1,h2,h3,h4')].map((h) => Number(h.tagName[1]))`,
    )) as number[];
    expect(levels[0]).toBe(1);
    for (const [i, level] of levels.slice(1).entries()) {
      expect(level - levels[i]!).toBeLessThanOrEqual(1);
    }
    const numbers = await page.locator('h2').allInnerTexts();
    expect(numbers.map((n) => Number.parseInt(n, 10))).toEqual(numbers.map((_, i) => i + 1));
    await page.close();
  });
});
