/** `report`: the answer as a document to read, print and sign, with the sheets that go with it. */
import { Command } from 'commander';
import { print } from '../console.ts';
import { allowUnknownOption, caseArgument, dayOption, partsOption } from '../options.ts';
import { statusOf } from '../status.ts';

interface ReportOptions {
  readonly output?: string;
  readonly form?: string;
  readonly force?: true;
  readonly date?: string;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
}

async function report(name: string, options: ReportOptions): Promise<void> {
  const { reportOf } = await import('../reporting.ts');
  const { printReport, reportName, writeForm, writeReport } = await import('../report-file.ts');
  const found = await reportOf(name, options.parts, options.form);
  const { answer, taken } = found;
  process.exitCode = statusOf(answer, options.allowUnknown === true);
  if (options.form !== undefined) {
    const shown = await writeForm(answer, options.form, options.force === true);
    if (options.output !== '-') print(`${shown}\n`);
  }
  if (options.output === '-') printReport(answer, taken);
  else {
    const dated = options.date === undefined ? {} : { date: options.date };
    const path = options.output ?? reportName(name);
    print(`${await writeReport(answer, path, { ...dated, ...(taken && { taken }) })}\n`);
  }
}

export function reportCommand(): Command {
  return new Command('report')
    .description('write the answer to a case as PDF or HTML and print the name of the file')
    .argument('<case>', caseArgument)
    .option(
      '-o, --output <file>',
      'file to write, .pdf, .html or .json, or - for HTML on standard output',
    )
    .option('--form <file>', 'also write the acceptance form as CSV, for reconcile once filled in')
    .option('--force', 'write the form over a file that exists')
    .addOption(dayOption('day to print in a PDF'))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(report);
}
