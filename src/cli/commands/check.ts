/** `check`: does it fit, does it keep up. */
import { Command } from 'commander';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import { allowUnknownOption, caseArgument, jsonOption, partsOption } from '../options.ts';
import { statusOf } from '../status.ts';

interface CheckOptions {
  readonly json?: true;
  readonly report?: string | true;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
  readonly full?: true;
}

async function check(name: string, options: CheckOptions): Promise<void> {
  const { answerFile } = await import('../answering.ts');
  const answer = await answerFile(name, options.parts, { fit: true, rate: true });
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
  const line = `report: ${await writeReport(answer, path)}`;
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
