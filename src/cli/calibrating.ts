/** From a case and evidence on the command line to a calibration, its document and its part files. */
import { type CalibrateWish, type CalibrationDocument, calibrateCase } from '../engine/index.ts';
import { relativeName, writeText } from '../io/index.ts';
import { readInputs, usable } from './answering.ts';
import { patiently } from './console.ts';
import { evidenceFiles, type ReconcileWords } from './reconciling.ts';
import { Unusable } from './unusable.ts';

/** What the command line says of a calibration. */
export interface CalibrateFlags extends ReconcileWords {
  readonly date: string;
  readonly output?: string;
  readonly hostOutput?: string;
  readonly id?: string;
  /** `serial=0042`, one an item. */
  readonly identity: readonly string[];
}

export interface CalibratedFiles {
  readonly document: CalibrationDocument;
  /** A line for each file written. */
  readonly written: readonly string[];
}

/** Keys of `--identity`. */
const identityWords = [
  'board_revision',
  'serial',
  'fpga_build',
  'driver',
  'firmware',
  'temperature',
  'adapter',
] as const;
const adapterWords = ['desktop', 'carrier', 'not stated'];

/**
 * Calibrates the case file `name` with the files named, or those it lists, and writes the parts asked
 * for. Throws Unusable with every problem, InputError for files.
 */
export async function calibrateFiles(
  name: string,
  files: readonly string[],
  flags: CalibrateFlags,
): Promise<CalibratedFiles> {
  const wish: CalibrateWish = {
    date: dateOf(flags.date),
    identity: identityOf(flags.identity),
    stated: files.length === 0,
    ...(flags.id === undefined ? {} : { id: idOf(flags.id) }),
  };
  const inputs = await readInputs(name, flags.parts);
  const evidence = await evidenceFiles(name, files, inputs, flags);
  const work = calibrateCase(inputs.source, inputs.library, evidence, wish);
  const { document, parts } = await usable(await patiently('fitting', work), inputs);
  const written: string[] = [];
  if (flags.output !== undefined) written.push(await write(flags.output, parts.module));
  if (flags.hostOutput !== undefined) {
    if (parts.host === undefined) written.push('no value of the host was fitted: no part written');
    else written.push(await write(flags.hostOutput, parts.host));
  }
  return { document, written };
}

/** Over an earlier part only. */
async function write(path: string, text: string): Promise<string> {
  const shown = relativeName(path, process.cwd());
  await writeText(path, text, { beginning: 'lanewright: part/1' }, shown);
  return `part: ${shown}`;
}

function refuse(expected: string, got: string, next: string): never {
  const place = { file: 'command line', line: 1, column: 1 };
  throw new Unusable([{ code: 'usage', place, expected, got: `'${got.slice(0, 60)}'`, next }]);
}

function dateOf(text: string): string {
  if (/^\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])$/.test(text)) return text;
  return refuse('a date', text, 'write --date 2026-11-25');
}

function idOf(text: string): string {
  if (/^[A-Za-z0-9](?:[A-Za-z0-9 ._+-]{0,62}[A-Za-z0-9._+-])?$/.test(text)) return text;
  return refuse('an id of letters, digits, spaces and . _ + -', text, 'choose another id');
}

function identityOf(items: readonly string[]): NonNullable<CalibrateWish['identity']> {
  const found: Record<string, string> = {};
  for (const item of items) {
    const at = item.indexOf('=');
    const key = item.slice(0, at).trim().replaceAll('-', '_').toLowerCase();
    const text = item.slice(at + 1).trim();
    const known = identityWords.some((word) => word === key);
    if (at < 1 || !known || text === '' || !/^\P{C}{1,200}$/u.test(text)) {
      refuse(
        `KEY=TEXT with a key of ${identityWords.join(', ')}`,
        item,
        'write --identity serial=0042',
      );
    }
    if (key === 'adapter' && !adapterWords.includes(text)) {
      refuse(
        `adapter=${adapterWords.join(', adapter=')}`,
        item,
        'write --identity adapter=desktop',
      );
    }
    found[key] = text;
  }
  return found as NonNullable<CalibrateWish['identity']>;
}
