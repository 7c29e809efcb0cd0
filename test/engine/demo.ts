/** The delivered parts and example cases, for tests of whole answers. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Answer, answerCase, libraryOf } from '../../src/engine/index.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

function texts(folder: string) {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .map((name) => `${folder}/${name.replaceAll('\\', '/')}`)
    .filter((file) => file.endsWith('.yaml'))
    .sort()
    .map((file) => ({ file, text: readFileSync(join(root, file), 'utf8') }));
}

export const demoLibrary = libraryOf(texts('parts')).library;
export const surveyCases = texts('examples/survey');

export function answerOfCase(file: string, change: (text: string) => string = (t) => t): Answer {
  const source = { file, text: change(readFileSync(join(root, file), 'utf8')) };
  const read = answerCase(source, demoLibrary, { fit: true, rate: true });
  if (!read.ok) throw new Error(JSON.stringify(read.problems, undefined, 1));
  return read.value;
}
