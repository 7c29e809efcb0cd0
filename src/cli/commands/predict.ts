/** `predict`: rates of a case's transfers with a range, at other sizes and settings too. */
import { Command, Option } from 'commander';
import { paintFor, print, printJson, widthOf } from '../console.ts';
import { caseArgument, jsonOption, partsOption } from '../options.ts';
import type { PredictFlags } from '../predicting.ts';

interface Flags extends PredictFlags {
  readonly json?: true;
}

async function predict(name: string, flags: Flags): Promise<void> {
  const { predictFile } = await import('../predicting.ts');
  const document = await predictFile(name, flags);
  if (flags.json) {
    printJson(document);
    return;
  }
  const { predictionText } = await import('../../report/index.ts');
  const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
  print(predictionText(document, look));
}

const severally = (text: string, earlier: string[] | undefined) => [...(earlier ?? []), text];

export function predictCommand(): Command {
  return new Command('predict')
    .description('predict the rates of transfers with a 90 % range, from what was measured')
    .argument('<case>', caseArgument)
    .addOption(
      new Option('--with <part>', 'part file that a calibration wrote; may be given again')
        .argParser(severally)
        .default([], 'none'),
    )
    .option('--size <size>', "size of a transfer, as 4KiB; each stream's own when absent")
    .addOption(new Option('--kind <kind>', 'only these').choices(['write', 'read']))
    .addOption(
      new Option('--set <setting>', 'setting, as Max_Payload_Size=256; may be given again')
        .argParser(severally)
        .default([], "the case's"),
    )
    .addOption(jsonOption('the prediction document'))
    .addOption(partsOption())
    .action(predict);
}
