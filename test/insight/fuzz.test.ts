/** Tables of any kind give a document or problems, never a fault; and every document holds together. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { reconcileCase } from '../../src/engine/index.ts';
import { reconciliationText } from '../../src/report/index.ts';
import { demoLibrary, surveyCases } from '../engine/demo.ts';
import { bytesOf, system } from './measured.ts';

const recorder = surveyCases.find((c) => c.file.endsWith('/recorder.yaml'))!;
const cases = [
  { source: recorder, library: demoLibrary },
  system('fpga-kit', 'read.yaml'),
  system('server-x8', 'write.yaml'),
];

const word = fc.oneof(
  fc.constantFrom('', 'NaN', '-1', '0', '1e400', '1e-400', 'to host', 'from host', 'both', 'read'),
  fc.integer({ min: 0, max: 1e7 }).map(String),
  fc.string({ maxLength: 6 }),
);
const heading = fc.constantFrom(
  'size',
  'size (B)',
  'size (MB)',
  'direction',
  'time (us)',
  'time',
  'rate (MB/s)',
  'rate',
  'transfers',
  'stream',
);
/** Anything with commas, and tables that are nearly right with every setting there is. */
const loose = fc
  .tuple(fc.array(heading, { maxLength: 5 }), fc.array(fc.array(word, { maxLength: 6 })))
  .map(([head, rows]) => [head, ...rows].map((r) => r.join(',')).join('\n'));
const close = fc
  .array(
    fc.record({
      size: fc.oneof(fc.integer({ min: 1, max: 5000 }), fc.integer({ min: 1, max: 2 ** 33 })),
      way: fc.constantFrom('to host', 'from host', 'both', 'in'),
      ns: fc.integer({ min: 1, max: 1e9 }),
      payload: fc.constantFrom(128, 256, 1024, 4096),
      width: fc.constantFrom('x1', 'x2', 'x4', 'x8', 'x12', 'x16', 'x32', ''),
      generation: fc.constantFrom(1, 2, 3, 4, 5, 6, ''),
    }),
    { maxLength: 6 },
  )
  .map(
    (rows) =>
      `size (B),direction,time (ns),mps,width,gen\n${rows
        .map((r) => `${r.size},${r.way},${r.ns},${r.payload},${r.width},${r.generation}`)
        .join('\n')}\n`,
  );

test.each([
  ['anything with commas', loose, 60],
  ['tables with settings of every kind', close, 25],
] as const)(
  '%s',
  async (_, tables, numRuns) => {
    await fc.assert(
      fc.asyncProperty(
        tables,
        fc.constantFrom(...cases),
        fc.boolean(),
        async (csv, { source, library }, named) => {
          const stream = /name: (\S+)/.exec(source.text)![1]!;
          const own = { standardUnits: named, ...(named && { stream }) };
          const file = { file: 'e.csv', bytes: bytesOf(csv), ...own };
          const result = await reconcileCase(source, library, [file], { stated: false });
          if (!result.ok) {
            expect(result.problems.length).toBeGreaterThan(0);
            return;
          }
          const found = result.value;
          expect(JSON.stringify(found)).not.toMatch(/:null/);
          for (const p of found.points) {
            const { low, expected, high } = p.predicted;
            expect(low).toBeLessThanOrEqual(expected);
            expect(expected).toBeLessThanOrEqual(high);
            expect(p.standing === 'impossible as stated').toBe(p.measured.low > p.ceiling);
            const sum = p.ledger.predicted.reduce((all, a) => all + a.seconds, 0);
            expect(sum / p.ledger.predictedSeconds).toBeCloseTo(1, 9);
            for (const c of p.possibleWith) expect(c.rate).toBeLessThanOrEqual(c.ceiling);
          }
          expect(reconciliationText(found)).toContain(found.verdict.standing);
        },
      ),
      { numRuns },
    );
  },
  60_000,
);
