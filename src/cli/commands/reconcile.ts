/** `reconcile`: what was measured beside what was predicted, and where the difference goes. */
import { Command, Option } from 'commander';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import {
  allowUnknownOption,
  caseArgument,
  figuresOption,
  jsonOption,
  partsOption,
} from '../options.ts';
import type { ReconcileWords } from '../reconciling.ts';
import { statusOfLevel } from '../status.ts';

interface ReconcileFlags extends ReconcileWords {
  readonly json?: true;
  readonly figures?: string;
  readonly allowUnknown?: true;
}

async function reconcile(
  name: string,
  files: readonly string[],
  flags: ReconcileFlags,
): Promise<void> {
  const { reconcileFiles } = await import('../reconciling.ts');
  const document = await reconcileFiles(name, files, flags);
  process.exitCode = statusOfLevel(document.verdict.level, flags.allowUnknown === true);
  if (flags.figures !== undefined) {
    const { reconciliationFigures } = await import('../../figures/index.ts');
    const { writeFigures } = await import('../figure-files.ts');
    for (const name of await writeFigures(flags.figures, reconciliationFigures(document)))
      note(`figure: ${name}`);
  }
  if (flags.json) {
    printJson(document);
    return;
  }
  const { reconciliationText } = await import('../../report/index.ts');
  const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
  print(reconciliationText(document, look));
}

/** Adds the evidence and what can be said of it to a command. */
export function withEvidence(command: Command): Command {
  return command
    .argument('[evidence...]', 'files with measurements; those that the case lists when absent')
    .option('--mapping <file>', 'YAML file that says what columns, units and words mean')
    .addOption(
      new Option('--units <unit>', 'unit of bare numbers, as rate=MB/s; may be given again')
        .argParser((unit: string, earlier: string[] | undefined) => [...(earlier ?? []), unit])
        .default([], 'none'),
    )
    .option('--standard-units', 'take units that are still open as the standards define them')
    .addOption(
      new Option('--direction <way>', 'way of all transfers').choices(['to host', 'from host']),
    )
    .option('--stream <name>', 'stream that was measured; found by direction when absent')
    .addOption(
      new Option('--holds <rows>', 'what the rows of a table are').choices(['timings', 'packets']),
    );
}

export function reconcileCommand(): Command {
  const command = new Command('reconcile')
    .description('lay measurements beside the prediction and say where the difference goes')
    .argument('<case>', caseArgument);
  return withEvidence(command)
    .addOption(figuresOption())
    .addOption(jsonOption('the reconciliation document'))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(reconcile);
}
