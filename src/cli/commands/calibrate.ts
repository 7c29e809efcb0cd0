/** `calibrate`: unknown values of device and host from measured transfers, saved as a part. */
import { Command, Option } from 'commander';
import type { CalibrateFlags } from '../calibrating.ts';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import {
  allowUnknownOption,
  caseArgument,
  figuresOption,
  jsonOption,
  partsOption,
} from '../options.ts';
import { statusOfLevel } from '../status.ts';
import { withEvidence } from './reconcile.ts';

interface Flags extends CalibrateFlags {
  readonly json?: true;
  readonly figures?: string;
  readonly allowUnknown?: true;
}

async function calibrate(name: string, files: readonly string[], flags: Flags): Promise<void> {
  const { calibrateFiles } = await import('../calibrating.ts');
  const { document, written } = await calibrateFiles(name, files, flags);
  process.exitCode = statusOfLevel(document.verdict.level, flags.allowUnknown === true);
  if (flags.json) printJson(document);
  else {
    const { calibrationText } = await import('../../report/index.ts');
    const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
    print(calibrationText(document, look));
  }
  if (flags.figures !== undefined) {
    const { calibrationFigures } = await import('../../figures/index.ts');
    const { writeFigures } = await import('../figure-files.ts');
    for (const name of await writeFigures(flags.figures, calibrationFigures(document)))
      note(`figure: ${name}`);
  }
  for (const line of written) {
    if (flags.json) note(line);
    else print(`\n${line}\n`);
  }
}

const severally = (text: string, earlier: string[] | undefined) => [...(earlier ?? []), text];

export function calibrateCommand(): Command {
  const command = new Command('calibrate')
    .description('fit unknown values of device and host to measurements and save them as a part')
    .argument('<case>', caseArgument);
  return withEvidence(command)
    .requiredOption('--date <day>', 'day of the measurement, as 2026-11-25')
    .option('-o, --output <file>', "write the module's part with the measured values")
    .option('--host-output <file>', "write the host's part, where one of its values was fitted")
    .option('--id <id>', "id of the written part of the module; the module's own when absent")
    .addOption(
      new Option('--identity <key>', 'what was measured, as serial=0042; may be given again')
        .argParser(severally)
        .default([], 'not stated'),
    )
    .addOption(figuresOption())
    .addOption(jsonOption('the calibration document'))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(calibrate);
}
