/** `brief`: the answer as slides with notes for the speaker. */
import { Command } from 'commander';
import { print } from '../console.ts';
import { allowUnknownOption, caseArgument, dayOption, partsOption } from '../options.ts';
import { statusOf } from '../status.ts';

interface BriefOptions {
  readonly output?: string;
  readonly date?: string;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
}

async function brief(name: string, options: BriefOptions): Promise<void> {
  const { reportOf } = await import('../reporting.ts');
  const { briefName, writeBrief } = await import('../brief-file.ts');
  const found = await reportOf(name, options.parts);
  process.exitCode = statusOf(found.answer, options.allowUnknown === true);
  print(`${await writeBrief(found, options.output ?? briefName(name), options.date)}\n`);
}

export function briefCommand(): Command {
  return new Command('brief')
    .description('write the answer to a case as slides with notes, and print the name of the file')
    .argument('<case>', caseArgument)
    .option('-o, --output <file>', 'file to write, Office Open XML (.pptx)')
    .addOption(dayOption('day to state in the file'))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(brief);
}
