/**
 * Decoded fields beside the PCI utility of the Debian archive (package pciutils), piece by piece of
 * its text: over dumps of emulated machines, and over made images with every field of the tables.
 * Skipped where it is not installed. LANEWRIGHT_DUMPS names a folder of further listings to compare.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodeFunction } from '../../src/insight/registers/index.ts';
import { addressText, readConfigSpaces } from '../../src/readers/dump/index.ts';
import { listingOf, spaceOf } from './images.ts';
import { compareDump } from './lister/compare.ts';
import { list, listerVersion } from './lister/parse.ts';
import { allImages } from './made-images.ts';

const here = new URL('fixtures/', import.meta.url);
const own = readdirSync(here).filter((name) => name.endsWith('.txt'));
const further = process.env.LANEWRIGHT_DUMPS;

async function compareFile(path: string) {
  const dump = await readConfigSpaces([readFileSync(path)], { file: 'dump' });
  return compareDump(dump.functions.map(decodeFunction), list(path));
}

describe.skipIf(listerVersion() === undefined)('registers beside the PCI utility', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'lanewright-dump-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test.each(own)('emulated machine %s: every piece alike', async (name) => {
    const { faults, compared } = await compareFile(new URL(name, here).pathname);
    expect(faults).toEqual([]);
    expect(compared.size).toBeGreaterThan(4);
  });

  test('made images: every field that the utility shows, alike', async () => {
    const images = allImages();
    const path = join(folder, 'made.txt');
    const text = images.map(({ bytes, structure }, i) => {
      return listingOf(bytes, `${addressText(spaceOf(bytes, i).address!)} ${structure}`);
    });
    writeFileSync(path, text.join('\n'));
    const { faults, compared } = await compareFile(path);
    expect(faults.slice(0, 4000)).toEqual([]);
    expect(faults).toHaveLength(0);
    // Structures that the utility shows field by field; a rule set that matched nothing would lack.
    expect(compared.size).toBeGreaterThanOrEqual(36);
  });

  if (further !== undefined) {
    test.each(readdirSync(further))('further dump %s: every piece alike', async (name) => {
      expect((await compareFile(join(further, name))).faults).toEqual([]);
    });
  }
});
