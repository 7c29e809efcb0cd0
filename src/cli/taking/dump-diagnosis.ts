/**
 * `take` of a register dump, and what follows from it: diagnosis, a missing card, a case, another
 * dump.
 */
import { dirname, join } from 'node:path';
import {
  type Asked,
  caseOfDump,
  compareDumps,
  diagnoseDump,
  notSeenBelow,
} from '../../engine/index.ts';
import { exists, fileError, relativeName, writeText } from '../../io/index.ts';
import type { DumpDocument } from '../../model/dump.ts';
import type { Finding } from '../../model/finding.ts';
import type { InputError } from '../../model/problem.ts';
import { diagnosisText, dumpComparisonText, notSeenText } from '../../report/index.ts';
import { answerFile } from '../answering.ts';
import { paintFor, print, printJson, widthOf } from '../console.ts';
import { STATUS_FAILS, STATUS_HOLDS } from '../status.ts';
import { Unusable } from '../unusable.ts';
import { readDump } from './dump.ts';
import type { DumpDiagnosisOptions } from './dump-diagnosis-options.ts';

function usage(expected: string, got: string, next: string): Unusable {
  const place = { file: 'command line', line: 1, column: 1 };
  return new Unusable([{ code: 'usage', place, expected, got, next }]);
}

/** Options that contradict each other, or lack the one they belong to. */
function checkOptions(o: DumpDiagnosisOptions): void {
  const asked = [
    o.asCase && '--as-case',
    o.missingBelow && '--missing-below',
    o.against && '--against',
  ];
  const given = asked.filter((word) => word !== undefined);
  if (given.length > 1) throw usage('one question', given.join(' and '), 'ask them one by one');
  if (o.asCase && o.function === undefined) {
    throw usage(
      '--function with --as-case',
      'no --function',
      'name the endpoint that the case is of',
    );
  }
  const needs: readonly [string, unknown, string, unknown][] = [
    ['--output', o.output, '--as-case', o.asCase],
    ['--case', o.case, '--missing-below', o.missingBelow],
    ['--against-function', o.againstFunction, '--against', o.against],
  ];
  for (const [word, value, other, needed] of needs) {
    if (value !== undefined && needed === undefined) {
      throw usage(`${other} with ${word}`, `no ${other}`, `add ${other}, or leave ${word} out`);
    }
  }
}

async function read(name: string, bytes?: AsyncIterable<Uint8Array>): Promise<DumpDocument> {
  const document = await readDump(name, bytes);
  if (document.functions.length === 0) throw new Unusable(document.problems);
  return document;
}

function usable<T>(asked: Asked<T>): T {
  if (!asked.ok) throw new Unusable(asked.problems);
  return asked.value;
}

const look = () => ({ width: widthOf(process.stdout), paint: paintFor(process.stdout) });

/**
 * Does what the options ask with a dump; `bytes` are those of a file. Status 1 where a path has a
 * `stop`. Throws Unusable for options, addresses and dumps that cannot be used.
 */
export async function takeDumpDiagnosis(
  name: string,
  options: DumpDiagnosisOptions,
  bytes?: AsyncIterable<Uint8Array>,
): Promise<void> {
  checkOptions(options);
  const dump = await read(name, bytes);
  process.exitCode = STATUS_HOLDS;
  if (options.asCase) return writeCase(dump, options);
  if (options.missingBelow !== undefined) return missing(dump, options.missingBelow, options);
  if (options.against !== undefined) return against(dump, options.against, options);
  const document = usable(diagnoseDump(dump, options.function));
  const stops = document.functions.some((f) => f.findings.some((one) => one.level === 'stop'));
  if (stops) process.exitCode = STATUS_FAILS;
  if (options.json) printJson(document);
  else print(diagnosisText(document, look()));
}

async function missing(dump: DumpDocument, port: string, options: DumpDiagnosisOptions) {
  const fit = options.case === undefined ? undefined : await fitOf(options.case);
  const document = usable(notSeenBelow(dump, port, fit));
  if (options.json) printJson(document);
  else print(notSeenText(document, look()));
}

async function fitOf(name: string): Promise<readonly Finding[]> {
  const answer = await answerFile(name, [], { fit: true, rate: false });
  return answer.fit?.findings ?? [];
}

async function against(first: DumpDocument, other: string, options: DumpDiagnosisOptions) {
  const second = await read(other);
  const own = options.function;
  const theirs = options.againstFunction ?? own;
  const document = usable(
    compareDumps(
      { dump: first, ...(own !== undefined && { function: own }) },
      { dump: second, ...(theirs !== undefined && { function: theirs }) },
    ),
  );
  if (options.json) printJson(document);
  else print(dumpComparisonText(document, look()));
}

/** Writes the case and its parts; nothing at all when one of the names is taken. */
async function writeCase(dump: DumpDocument, options: DumpDiagnosisOptions): Promise<void> {
  const plain = options.function!.replaceAll(/[^0-9a-zA-Z.]/g, '-');
  const name = options.output ?? `lanewright-case-${plain}.yaml`;
  const stem = name
    .replace(/\.ya?ml$/i, '')
    .split(/[/\\]/)
    .at(-1)!;
  const wish = { file: relativeName(name, process.cwd()), folder: `./${stem}-parts` };
  const files = usable(caseOfDump(dump, options.function!, wish));
  const base = dirname(name);
  const all = [
    { path: name, text: files.case.text },
    ...files.parts.map(({ file, text }) => ({ path: join(base, file), text })),
  ];
  for (const { path } of all) {
    if (await exists(path)) throw taken(path);
  }
  await makeFolder(join(base, wish.folder));
  // The case last: once it is there, everything it names is.
  for (const { path, text } of [...all.slice(1), all[0]!]) {
    await writeText(path, text, 'never', relativeName(path, process.cwd()));
  }
  for (const { path } of all) print(`${relativeName(path, process.cwd())}\n`);
}

function taken(path: string): InputError {
  return fileError('would-overwrite', relativeName(path, process.cwd()), {
    expected: 'a name that is free',
    got: 'a file that exists',
    next: 'choose another name with --output',
  });
}

async function makeFolder(path: string): Promise<void> {
  const { mkdir } = await import('node:fs/promises');
  try {
    await mkdir(path, { recursive: true });
  } catch (error) {
    const { code } = error as { readonly code?: unknown };
    if (typeof code !== 'string') throw error;
    throw fileError('file-unwritable', relativeName(path, process.cwd()), {
      expected: 'a place for a folder of parts',
      got: `system error ${code}`,
      next: 'choose another place with --output',
    });
  }
}
