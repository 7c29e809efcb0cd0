/** From a case and files of evidence on the command line to the document of `reconcile`. */
import { dirname, join } from 'node:path';
import {
  type EvidenceFile,
  evidenceOf,
  type Reconciliation,
  readMapping,
  reconcileCase,
} from '../engine/index.ts';
import { fileChunks, readText, relativeName, streamChunks } from '../io/index.ts';
import type { Place } from '../model/basis.ts';
import { InputError } from '../model/problem.ts';
import { checkMapping, type EvidenceMapping } from '../readers/index.ts';
import { FROM_STANDARD_INPUT, type Inputs, readInputs, usable } from './answering.ts';
import { patiently } from './console.ts';
import { Unusable } from './unusable.ts';

/** What is said of the files on the command line; it wins over a mapping file. */
export interface ReconcileWords {
  readonly mapping?: string;
  /** `rate=MB/s`, one an item. */
  readonly units: readonly string[];
  readonly direction?: string;
  readonly stream?: string;
  readonly holds?: 'timings' | 'packets';
  readonly standardUnits?: true;
  readonly parts: readonly string[];
}

/**
 * Reconciles the case file `name` with the files named, or with those the case lists when none is
 * named. Throws Unusable with every problem of case, parts, mapping and evidence, InputError for files.
 */
export async function reconcileFiles(
  name: string,
  files: readonly string[],
  words: ReconcileWords,
): Promise<Reconciliation> {
  const inputs = await readInputs(name, words.parts);
  const evidence = await evidenceFiles(name, files, inputs, words);
  const work = reconcileCase(inputs.source, inputs.library, evidence, {
    stated: files.length === 0,
  });
  return usable(await patiently('reading the evidence', work), inputs);
}

/** The files named on the command line, or those that the case lists when none is. */
export async function evidenceFiles(
  name: string,
  files: readonly string[],
  inputs: Inputs,
  words: ReconcileWords,
): Promise<EvidenceFile[]> {
  return files.length > 0 ? named(files, words) : listed(name, inputs, words);
}

/** Files on the command line, `-` for standard input. */
async function named(files: readonly string[], words: ReconcileWords): Promise<EvidenceFile[]> {
  const mapping = await mappingOf(words);
  return files.map((path) => {
    const own = { mapping, ...ofWords(words) };
    if (path === FROM_STANDARD_INPUT) {
      return { file: 'standard input', bytes: streamChunks(process.stdin), ...own };
    }
    const file = relativeName(path, process.cwd());
    return { file, bytes: fileChunks(path, file), ...own };
  });
}

/** Files that the case lists, found beside it. */
function listed(name: string, { source }: Inputs, words: ReconcileWords): EvidenceFile[] {
  const base = name === FROM_STANDARD_INPUT ? '.' : dirname(name);
  return evidenceOf(source).map(({ file: listedAs, place }) => {
    const path = join(base, listedAs);
    const file = relativeName(path, process.cwd());
    return { file, listedAs, bytes: listedChunks(path, file, place), ...ofWords(words) };
  });
}

/** A file that cannot be read is told where the case lists it. */
async function* listedChunks(path: string, file: string, place: Place) {
  try {
    yield* fileChunks(path, file);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    throw new InputError(
      error.problems.map((p) => ({ ...p, place, got: `${p.got}: ${p.place.file}` })),
    );
  }
}

function ofWords({ stream, holds, standardUnits }: ReconcileWords) {
  return {
    ...(stream !== undefined && { stream }),
    ...(holds !== undefined && { holds }),
    ...(standardUnits && { standardUnits }),
  };
}

async function mappingOf(words: ReconcileWords): Promise<EvidenceMapping> {
  const from = words.mapping === undefined ? {} : await fileMapping(words.mapping);
  const units = Object.fromEntries(words.units.map(unitOf));
  const direct = words.direction === undefined ? {} : { direction: words.direction };
  const mapping = {
    ...from,
    ...(words.units.length > 0 && { units: { ...from.units, ...units } }),
    ...(words.direction !== undefined && { fixed: { ...from.fixed, ...direct } }),
  };
  const checked = checkMapping(mapping, () => commandLine);
  if (!checked.ok) throw new Unusable(checked.problems);
  return checked.mapping;
}

const commandLine: Place = { file: 'command line', line: 1, column: 1 };

function unitOf(text: string): [string, string] {
  const at = text.indexOf('=');
  if (at > 0) return [text.slice(0, at).trim(), text.slice(at + 1).trim()];
  throw new Unusable([
    {
      code: 'usage',
      place: commandLine,
      expected: 'size=UNIT, time=UNIT or rate=UNIT',
      got: `'${text.slice(0, 60)}'`,
      next: 'write --units rate=MB/s',
    },
  ]);
}

async function fileMapping(path: string): Promise<EvidenceMapping> {
  const source = await readText(path, relativeName(path, process.cwd()));
  const read = readMapping(source);
  if (!read.ok) throw new Unusable(read.problems, new Map([[source.file, source.text]]));
  return read.value;
}
