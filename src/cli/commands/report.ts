/** `report`: the answer as a document to read, print and sign. */
import { Command, InvalidArgumentError, Option } from 'commander';
import { print } from '../console.ts';
import { allowUnknownOption, caseArgument, partsOption } from '../options.ts';
import { statusOf } from '../status.ts';

interface ReportOptions {
  readonly output?: string;
  readonly date?: string;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
}

async function report(name: string, options: ReportOptions): Promise<void> {
  const { answerFile } = await import('../answering.ts');
  const { printReport, reportName, writeReport } = await import('../report-file.ts');
  const answer = await answerFile(name, options.parts, { fit: true, rate: true });
  process.exitCode = statusOf(answer, options.allowUnknown === true);
  if (options.output === '-') printReport(answer);
  else {
    const dated = options.date === undefined ? {} : { date: options.date };
    print(`${await writeReport(answer, options.output ?? reportName(name), dated)}\n`);
  }
}

/** A day, or the refusal that names what was expected. */
function day(text: string): string {
  const [, year, month, date] = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text) ?? [];
  const when = new Date(`${text}T00:00:00Z`);
  const real = year !== undefined && when.getUTCMonth() + 1 === Number(month);
  if (real && when.getUTCDate() === Number(date)) return text;
  throw new InvalidArgumentError('Expected a day, such as 2026-11-25.');
}

export function reportCommand(): Command {
  return new Command('report')
    .description('write the answer to a case as PDF or HTML and print the name of the file')
    .argument('<case>', caseArgument)
    .option('-o, --output <file>', 'file to write, .pdf or .html, or - for HTML on standard output')
    .addOption(new Option('--date <day>', 'day to print in a PDF').argParser(day))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(report);
}
