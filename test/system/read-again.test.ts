// Reading remembers what it made of a text; what it gives must be what a first reading gives.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type Choose,
  caseReader,
  libraryOf,
  readCase,
  type SourceFile,
} from '../../src/system/read/index.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

function filesIn(folder: string): SourceFile[] {
  return readdirSync(join(root, folder))
    .filter((name) => name.endsWith('.yaml'))
    .sort()
    .map((name) => ({
      file: `${folder}/${name}`,
      text: readFileSync(join(root, folder, name), 'utf8'),
    }));
}

const parts = filesIn('parts');
const names = ['recorder', 'recorder-programmed', 'pmc-full', 'sixteen-lanes', 'two-roots'];
const cases = filesIn('examples/survey').filter(({ file }) =>
  names.some((name) => file.endsWith(`/${name}.yaml`)),
);

/** Copies: nothing is remembered of an object that was never read. */
const anew = (files: readonly SourceFile[]) => files.map((f) => ({ ...f }));

function first(source: SourceFile, choose: Choose) {
  return readCase({ ...source }, libraryOf(anew(parts)).library, choose);
}

/** Every choice of every option of the parts of a case, and one that there is not. */
function choicesOf(source: SourceFile): Choose[] {
  const read = first(source, {});
  if (!read.ok) throw new Error(`${source.file} does not read`);
  const { module, carrier, host, slot, switches } = read.value;
  const used = [module, carrier?.part, host, slot, ...switches].filter((p) => p !== undefined);
  return used.flatMap(({ id, options }) =>
    Object.entries(options).flatMap(([option, { choices }]) =>
      [...choices, 'no such choice'].map((choice) => ({ [id]: { [option]: choice } })),
    ),
  );
}

describe('a case read again', () => {
  const { library } = libraryOf(anew(parts));

  test.each(cases.map((c) => [c.file, c] as const))(
    '%s: every build as read first',
    (_, source) => {
      const reader = caseReader(source, library);
      for (const choose of [{}, ...choicesOf(source), {}]) {
        expect(reader(choose)).toEqual(first(source, choose));
      }
    },
  );

  test('with any line broken: the same problems, with any build, in any order', () => {
    const lines = fc.nat(60);
    fc.assert(
      fc.property(fc.constantFrom(...parts), lines, fc.boolean(), (part, line, drop) => {
        const broken = part.text.split('\n');
        broken.splice(line % broken.length, 1, ...(drop ? [] : ['  - : [']));
        const files = parts.map((p) => (p === part ? { ...p, text: broken.join('\n') } : { ...p }));
        const { library } = libraryOf(files);
        const source = cases.find((c) => c.file.endsWith('/recorder.yaml'))!;
        const reader = caseReader(source, library);
        const some = choicesOf(source).filter((_, i) => i % 8 === line % 8);
        for (const choose of [{}, ...some, {}]) {
          const fresh = libraryOf(anew(files)).library;
          expect(reader(choose)).toEqual(readCase({ ...source }, fresh, choose));
        }
      }),
      { numRuns: 10 },
    );
  });

  test('a source whose text was changed is read anew', () => {
    const files = anew(parts);
    const { library } = libraryOf(files);
    const source = { ...cases.find((c) => c.file.endsWith('/recorder.yaml'))! };
    readCase(source, library);
    const changed = source as { text: string };
    changed.text = changed.text.replace(/^title: .*$/m, 'title: another');
    const read = readCase(source, library);
    expect(read.ok && read.value.title).toBe('another');
  });
});
