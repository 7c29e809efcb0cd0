/** The survey examples and parts, read from the repository, and copies of a case to change. */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Finding } from '../../src/model/finding.ts';
import { type Dimension, quantity } from '../../src/quantity/index.ts';
import type { Case } from '../../src/system/case.ts';
import type { Given, GivenQuantity } from '../../src/system/given.ts';
import { libraryOf, readCase } from '../../src/system/read/index.ts';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');

function filesIn(folder: string) {
  return readdirSync(join(root, folder))
    .filter((name) => name.endsWith('.yaml'))
    .sort()
    .map((name) => ({
      file: `${folder}/${name}`,
      text: readFileSync(join(root, folder, name), 'utf8'),
    }));
}

export const partFiles = filesIn('parts');
export const { library, problems: libraryProblems } = libraryOf(partFiles);
export const exampleNames = filesIn('examples/survey').map(
  ({ file }) => /([^/]+)\.yaml$/.exec(file)![1]!,
);

const cache = new Map<string, Case>();

/** An example, read once. Fails the test with every problem found. */
export function example(name: string): Case {
  const known = cache.get(name);
  if (known !== undefined) return known;
  const file = `examples/survey/${name}.yaml`;
  const read = readCase({ file, text: readFileSync(join(root, file), 'utf8') }, library);
  if (!read.ok) throw new Error(JSON.stringify(read.problems, null, 2));
  if (read.warnings.length > 0) throw new Error(JSON.stringify(read.warnings, null, 2));
  cache.set(name, read.value);
  return read.value;
}

/** Everything writable and present-or-absent, for mutations. */
export type Draft<T> = T extends string | number | bigint | boolean | undefined
  ? T
  : { -readonly [K in keyof T]: Draft<T[K]> };

/** A copy of an example with one thing changed. */
export function changed(name: string, change: (draft: Draft<Case>) => void): Case {
  const copy = structuredClone(example(name)) as Draft<Case>;
  change(copy);
  return copy as Case;
}

const place = { file: 'test', line: 1, column: 1 };

/** A value as a data sheet would give it. */
export function sheet<T>(value: T): Draft<Given<T>> {
  return { value, basis: 'datasheet', reference: 'test', place, from: 'part' } as Draft<Given<T>>;
}

/** A quantity as a data sheet would give it. */
export function amount(text: string, dimension: Dimension): Draft<GivenQuantity> {
  return sheet(quantity(text, dimension)) as Draft<GivenQuantity>;
}

/** Level by id, in order of report. */
export function levels(findings: readonly Finding[]): Readonly<Record<string, string>> {
  return Object.fromEntries(findings.map((f) => [f.id, f.level]));
}
