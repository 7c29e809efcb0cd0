/** `rate`: what each stream sustains, with the ledger; no fit. */
import { Command } from 'commander';
import { paintFor, print, printJson, widthOf } from '../console.ts';
import { allowUnknownOption, caseArgument, jsonOption, partsOption } from '../options.ts';
import { statusOf } from '../status.ts';

interface RateOptions {
  readonly json?: true;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
}

async function rate(name: string, options: RateOptions): Promise<void> {
  const { answerFile } = await import('../answering.ts');
  const answer = await answerFile(name, options.parts, { fit: false, rate: true });
  process.exitCode = statusOf(answer, options.allowUnknown === true);
  if (options.json) {
    printJson(answer);
    return;
  }
  const { answerText } = await import('../../report/index.ts');
  print(answerText(answer, { width: widthOf(process.stdout), paint: paintFor(process.stdout) }));
}

export function rateCommand(): Command {
  return new Command('rate')
    .description('give what each stream sustains and the ledger of each link, without the fit')
    .argument('<case>', caseArgument)
    .addOption(jsonOption('the answer document'))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(rate);
}
