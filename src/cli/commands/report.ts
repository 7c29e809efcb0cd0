/** `report`: the answer as an HTML page to read, print and sign. */
import { Command } from 'commander';
import { print } from '../console.ts';
import { allowUnknownOption, caseArgument, partsOption } from '../options.ts';
import { statusOf } from '../status.ts';

interface ReportOptions {
  readonly output?: string;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
}

async function report(name: string, options: ReportOptions): Promise<void> {
  const { answerFile } = await import('../answering.ts');
  const { printReport, reportName, writeReport } = await import('../report-file.ts');
  const answer = await answerFile(name, options.parts, { fit: true, rate: true });
  process.exitCode = statusOf(answer, options.allowUnknown === true);
  if (options.output === '-') printReport(answer);
  else print(`${await writeReport(answer, options.output ?? reportName(name))}\n`);
}

export function reportCommand(): Command {
  return new Command('report')
    .description('write the answer to a case as HTML and print the name of the file')
    .argument('<case>', caseArgument)
    .option('-o, --output <file>', 'file to write, or - for standard output')
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(report);
}
