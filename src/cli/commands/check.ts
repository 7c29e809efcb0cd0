/** `check`: does it fit, does it keep up. */
import { Command } from 'commander';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import { allowUnknownOption, caseArgument, jsonOption, partsOption } from '../options.ts';
import type { Report } from '../reporting.ts';
import { statusOf } from '../status.ts';

interface CheckOptions {
  readonly json?: true;
  readonly report?: string | true;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
  readonly full?: true;
}

/** The answer; with all that its report shows where one is asked for. */
async function asked(name: string, { parts, report }: CheckOptions): Promise<Report> {
  if (report !== undefined) return (await import('../reporting.ts')).reportOf(name, parts);
  const { answerFile } = await import('../answering.ts');
  return { answer: await answerFile(name, parts, { fit: true, rate: true }) };
}

async function check(name: string, options: CheckOptions): Promise<void> {
  const found = await asked(name, options);
  // What goes with the report is no part of what is checked.
  const { owed: _, ...answer } = found.answer;
  process.exitCode = statusOf(answer, options.allowUnknown === true);
  if (options.json) {
    printJson(answer);
  } else {
    const { answerText } = await import('../../report/index.ts');
    const [width, paint] = [widthOf(process.stdout), paintFor(process.stdout)];
    print(answerText(answer, { width, paint, full: options.full === true }));
    if (!options.full)
      print('\n--full adds assumptions, build options and the values behind each ok.\n');
  }
  if (options.report === undefined) return;
  const { reportName, writeReport } = await import('../report-file.ts');
  const path = options.report === true ? reportName(name) : options.report;
  const taken = found.taken === undefined ? {} : { taken: found.taken };
  const line = `report: ${await writeReport(found.answer, path, taken)}`;
  if (options.json) note(line);
  else print(`\n${line}\n`);
}

export function checkCommand(): Command {
  return new Command('check')
    .description('check the fit and the rates of a case and give the verdict')
    .argument('<case>', caseArgument)
    .addOption(jsonOption('the answer document'))
    .option('--full', 'also print assumptions, build options and the values behind each ok')
    .option('--report [file]', 'also write the answer as PDF, or as HTML')
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(check);
}
