/** The dump document: its text as JSON, for people, and the page that lists what may be found. */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { documentOf, dumpJson, dumpJsonOf, dumpOf } from '../../src/engine/index.ts';
import { registerFindingIds } from '../../src/insight/registers/index.ts';
import { dumpFindingIds } from '../../src/readers/dump/index.ts';
import { dumpText } from '../../src/report/index.ts';
import { spaceOf } from './images.ts';
import { allImages } from './made-images.ts';

const here = new URL('fixtures/', import.meta.url);
const fixtures = readdirSync(here).filter((name) => name.endsWith('.txt'));
const read = (name: string) => dumpOf([readFileSync(new URL(name, here))], name);

describe('lanewright.dump/1', () => {
  test.each(fixtures)(
    '%s: the quick text is that of JSON.stringify, twice the same',
    async (name) => {
      const document = await read(name);
      expect(document.schema).toBe('lanewright.dump/1');
      expect(document.inputs[0]!.sha256).toMatch(/^[0-9a-f]{64}$/);
      expect(dumpJson(document)).toBe(JSON.stringify(document));
      expect(dumpJson(await read(name))).toBe(dumpJson(document));
    },
  );

  test('the quick text holds for every structure of the tables', () => {
    const functions = allImages()
      .filter((_, i) => i % 7 === 0)
      .map(({ bytes }, i) => spaceOf(bytes, i));
    const dump = {
      format: 'listing',
      functions,
      filesIgnored: 0,
      findings: [],
      problems: [],
      problemsLeftOut: 0,
    } as const;
    const document = documentOf(dump, 'made "structures":[] "registers":[]', []);
    expect(dumpJson(document)).toBe(JSON.stringify(document));
    expect(dumpJsonOf(dump, document.dump.file, [])).toBe(JSON.stringify(document));
  });

  test('every function of a dump is a line, with its Link and what it is able to', async () => {
    const document = await read('express.txt');
    const text = dumpText(document);
    for (const fn of document.functions) expect(text).toContain(`${fn.address}  ${fn.vendor}:`);
    // From the capture: a root port of 16 GT/s x16, trained to nothing better than 2.5 GT/s x1.
    expect(text.replaceAll(/\s+/g, ' ')).toContain('2.5 GT/s x1, able to');
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
  });
});

test('docs/registers.md lists every finding id, in order', () => {
  const page = readFileSync(new URL('../../docs/registers.md', import.meta.url), 'utf8');
  const ids = [...page.matchAll(/^\| `((?:dump|registers)-[a-z-]+)` \|/gm)].map((m) => m[1]);
  expect(ids).toEqual([...dumpFindingIds, ...registerFindingIds]);
});
