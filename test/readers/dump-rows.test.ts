/** Rows as nearly all listings have them take a short way through the reader; it must lead nowhere else. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { readConfigSpaces } from '../../src/readers/dump/index.ts';

const hex = (value: number, digits: number) => value.toString(16).padStart(digits, '0');
const space = fc.uint8Array({ minLength: 64, maxLength: 64 });
/** A character put into the text at a place, as damage. */
const damage = fc.record({ at: fc.nat(1000), put: fc.constantFrom(...' \tgF0:|?\r\nx') });

function listing(spaces: readonly Uint8Array[]): string {
  const rows = (bytes: Uint8Array) =>
    [0, 16, 32, 48].map((at) => {
      const values = [...bytes.subarray(at, at + 16)].map((byte) => hex(byte, 2));
      return `${hex(at, 2)}: ${values.join(' ')}`;
    });
  return spaces.map((s, i) => [`${hex(i, 2)}:00.0 x`, ...rows(s), ''].join('\n')).join('\n');
}

const read = (text: string, step = text.length) => {
  const bytes = new TextEncoder().encode(text);
  const chunks: Uint8Array[] = [];
  for (let i = 0; i < bytes.length; i += step) chunks.push(bytes.subarray(i, i + step));
  return readConfigSpaces(chunks, { file: 'made.txt' });
};

test('rows with a blank behind them, in whatever chunks, read as those without, damaged or not', async () => {
  const many = fc.array(space, { minLength: 1, maxLength: 9 });
  const cases = fc.tuple(
    many,
    fc.array(damage, { maxLength: 4 }),
    fc.integer({ min: 1, max: 600 }),
  );
  await fc.assert(
    fc.asyncProperty(cases, async ([spaces, damages, step]) => {
      let text = listing(spaces);
      for (const { at, put } of damages) {
        const where = at % text.length;
        text = text.slice(0, where) + put + text.slice(where + 1);
      }
      const plain = await read(text);
      expect(await read(text.replaceAll('\n', ' \n'))).toEqual(plain);
      expect(await read(text, step)).toEqual(plain);
    }),
    { numRuns: 150 },
  );
});

test('a large listing reads byte by byte as it was written', async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(space, { minLength: 25, maxLength: 32 }), async (spaces) => {
      const { functions, findings } = await read(listing(spaces));
      expect(findings).toEqual([]);
      expect(functions.map(({ bytes }) => bytes)).toEqual(spaces);
    }),
    { numRuns: 20 },
  );
});
