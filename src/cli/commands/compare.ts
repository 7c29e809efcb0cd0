/** `compare`: two cases side by side, an old board and a new one or two revisions of one. */
import { Command } from 'commander';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import { caseArgument, figuresOption, jsonOption, partsOption } from '../options.ts';

interface CompareFlags {
  readonly json?: true;
  readonly full?: true;
  readonly figures?: string;
  readonly parts: readonly string[];
}

async function compare(before: string, after: string, flags: CompareFlags): Promise<void> {
  const { compareFiles } = await import('../comparing.ts');
  const document = await compareFiles(before, after, flags.parts);
  if (flags.json) printJson(document);
  else {
    const { compareText } = await import('../../report/index.ts');
    const [width, paint] = [widthOf(process.stdout), paintFor(process.stdout)];
    print(compareText(document, { width, paint, full: flags.full === true }));
  }
  if (flags.figures === undefined) return;
  const { compareFigure } = await import('../../figures/index.ts');
  const { writeFigures } = await import('../figure-files.ts');
  const svg = compareFigure(document);
  const named = svg === undefined ? [] : [{ name: 'compare', svg }];
  for (const line of await writeFigures(flags.figures, named)) {
    if (flags.json) note(line);
    else print(`\n${line}\n`);
  }
}

export function compareCommand(): Command {
  return new Command('compare')
    .description(
      'lay two cases side by side: what differs, and what that does to rates and verdict',
    )
    .argument('<before>', caseArgument)
    .argument('<after>', 'the other case file')
    .addOption(jsonOption('the comparison'))
    .option('--full', 'also print the values of parts that are others')
    .addOption(figuresOption())
    .addOption(partsOption())
    .action(compare);
}
