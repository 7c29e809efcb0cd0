/** `take`: evidence on its own, before any case is laid beside it. One file a kind in `cli/taking`. */
import { Command, Option } from 'commander';
import type { WaveformMode } from '../../engine/index.ts';
import { allowUnknownOption, jsonOption, partsOption } from '../options.ts';
import {
  asksDiagnosis,
  type DumpDiagnosisOptions,
  dumpDiagnosisOptions,
} from '../taking/dump-diagnosis-options.ts';
import { Unusable } from '../unusable.ts';

interface TakeOptions extends DumpDiagnosisOptions {
  readonly allowUnknown?: true;
  readonly signal: readonly string[];
  readonly scope?: string;
  readonly mode?: WaveformMode;
  readonly sample?: 'before' | 'at';
  readonly transfers?: string;
  readonly parts: readonly string[];
}

/** Options that only a waveform has a use for. */
const waveformOnly = ['scope', 'mode', 'sample', 'transfers', 'allowUnknown'] as const;

async function take(name: string, options: TakeOptions): Promise<void> {
  const { evidenceBytes, shownName } = await import('../taking/dump.ts');
  const { isFolder } = await import('../taking/dump-files.ts');
  if (name !== '-' && (await isFolder(name))) {
    refuseWaveformOptions(shownName(name), options);
    await takeDumpAs(name, options);
    return;
  }
  const { knowEvidence } = await import('../taking/kind.ts');
  const { kind, chunks } = await knowEvidence(evidenceBytes(name));
  if (kind === 'waveform') {
    refuseDumpOptions(shownName(name), options);
    const { takeWaveformFile } = await import('../taking/waveform.ts');
    const { sample = 'before' } = options;
    await takeWaveformFile(chunks, shownName(name), { ...options, sample });
    return;
  }
  refuseWaveformOptions(shownName(name), options);
  await takeDumpAs(name, options, chunks);
}

/** The dump itself, or what follows from it. */
async function takeDumpAs(
  name: string,
  options: TakeOptions,
  chunks?: AsyncIterable<Uint8Array>,
): Promise<void> {
  if (asksDiagnosis(options)) {
    const { takeDumpDiagnosis } = await import('../taking/dump-diagnosis.ts');
    await takeDumpDiagnosis(name, options, chunks);
    return;
  }
  const { takeDump } = await import('../taking/dump.ts');
  await takeDump(name, options, chunks);
}

/** An option without effect would be a silent mistake. */
function refuseDumpOptions(file: string, options: TakeOptions): void {
  // A case has a meaning for a waveform too.
  const { case: _, ...ofDumps } = options;
  if (!asksDiagnosis(ofDumps)) return;
  throw new Unusable([
    {
      code: 'usage',
      place: { file, line: 1, column: 1 },
      expected: 'a register dump, for the options given',
      got: 'a waveform',
      next: 'check that this is the file you mean, or leave the options out',
    },
  ]);
}

/** An option without effect would be a silent mistake. */
function refuseWaveformOptions(file: string, options: TakeOptions): void {
  const given: string[] = waveformOnly.filter((key) => options[key] !== undefined);
  if (options.signal.length > 0) given.push('signal');
  if (given.length === 0) return;
  const words = given.map((key) => `--${key.replace('allowUnknown', 'allow-unknown')}`).join(', ');
  throw new Unusable([
    {
      code: 'usage',
      place: { file, line: 1, column: 1 },
      expected: `a waveform, for ${words}`,
      got: 'a file that does not begin as a value change dump',
      next: 'check that this is the file you mean, or leave the option out',
    },
  ]);
}

export function takeCommand(): Command {
  const command = new Command('take')
    .description(
      'read evidence by itself: decode every field of a register dump, or say where every clock of a ' +
        'bus or stream in a waveform went',
    )
    .argument(
      '<evidence>',
      'value change dump, or listing, image, tar archive or folder of configuration spaces, or - ' +
        'for standard input',
    )
    .addOption(
      new Option('--signal <line=name>', 'waveform: read a line from this variable')
        .argParser((text: string, earlier: string[] | undefined) => [...(earlier ?? []), text])
        .default([], 'found by name'),
    )
    .option('--scope <path>', 'waveform: look for lines in this scope alone')
    .addOption(
      new Option('--mode <kind>', 'waveform: what the interface is, found out when absent').choices(
        ['pci', 'pcix', 'stream'],
      ),
    )
    .addOption(
      new Option(
        '--sample <when>',
        'waveform: look at lines before the clock edge (so when absent), or at its time',
      ).choices(['before', 'at']),
    )
    .option('--transfers <file>', 'waveform: also write every transaction or packet, as CSV')
    .addOption(partsOption())
    .addOption(jsonOption('the document'))
    .addOption(allowUnknownOption());
  for (const option of dumpDiagnosisOptions()) command.addOption(option);
  return command.action(take);
}
