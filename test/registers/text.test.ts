/** The JSON text of registers, written without objects of fields, beside that of the objects. */
import { readdirSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { documentOf, dumpJsonOf } from '../../src/engine/index.ts';
import {
  type ConfigDump,
  type ConfigSpace,
  readConfigSpaces,
} from '../../src/readers/dump/index.ts';

const here = new URL('fixtures/', import.meta.url);
const fixtures = readdirSync(here).filter((name) => name.endsWith('.txt'));
const dumps = await Promise.all(
  fixtures.map((file) => readConfigSpaces([readFileSync(new URL(file, here))], { file })),
);
const functions = dumps.flatMap((dump) => dump.functions);

function same(spaces: readonly ConfigSpace[]): void {
  const dump: ConfigDump = { ...dumps[0]!, functions: spaces };
  expect(dumpJsonOf(dump, 'made', [])).toBe(JSON.stringify(documentOf(dump, 'made', [])));
}

test('functions that come once, twice and more often have the text of their objects', () => {
  same([]);
  same(functions);
  same([...functions, ...functions, ...functions]);
});

test('so have functions with words of their own, with gaps, and in any order', () => {
  const change = fc.record({
    at: fc.integer({ min: 0, max: 0x2ff }),
    value: fc.oneof(fc.constantFrom(0, 0x7f, 0x80, 0xff), fc.nat(255)),
  });
  const one = fc.record({
    base: fc.constantFrom(...functions),
    changes: fc.array(change, { maxLength: 40 }),
    gap: fc.option(fc.record({ offset: fc.nat(0x3f), length: fc.integer({ min: 1, max: 9 }) })),
    times: fc.integer({ min: 1, max: 3 }),
  });
  fc.assert(
    fc.property(fc.array(one, { minLength: 1, maxLength: 8 }), (many) => {
      const spaces = many.flatMap(({ base, changes, gap, times }) => {
        const bytes = base.bytes.slice();
        for (const { at, value } of changes) if (at < bytes.length) bytes[at] = value;
        const gaps = gap === null ? [] : [gap];
        return Array.from({ length: times }, () => ({ ...base, bytes, gaps }));
      });
      same(spaces);
    }),
    { numRuns: 60 },
  );
});

test('so have more places of a structure than are remembered', () => {
  // A vendor-specific capability (ID 09h) of 3 bytes at every place, each with another next one.
  const base = functions.find(({ bytes }) => bytes.length >= 256)!;
  const spaces: ConfigSpace[] = [];
  for (let at = 0x40; at < 0xf8; at += 4) {
    for (let next = 0x40; next < 0xf8; next += 4) {
      const bytes = base.bytes.slice(0, 256).fill(0, 0x40);
      bytes.set([0x09, next, 3], at);
      bytes[6] = 0x10;
      bytes[0x34] = at;
      spaces.push({ ...base, bytes });
    }
  }
  same(spaces);
});
