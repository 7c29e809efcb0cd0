/** `replace`: another module on the same carrier, backplane and cables. */
import { Command, Option } from 'commander';
import { paintFor, print, printJson, widthOf } from '../console.ts';
import { allowUnknownOption, caseArgument, jsonOption, partsOption } from '../options.ts';
import { statusOfLevel } from '../status.ts';
import { Unusable } from '../unusable.ts';

interface ReplaceOptions {
  readonly with: string;
  readonly option: readonly string[];
  readonly csv?: true;
  readonly json?: true;
  readonly allowUnknown?: true;
  readonly parts: readonly string[];
}

/** `speed=gen2` as a choice of a build option. */
function choiceOf(text: string): readonly [string, string] {
  const at = text.indexOf('=');
  if (at > 0) return [text.slice(0, at).trim(), text.slice(at + 1).trim()];
  const place = { file: 'command line', line: 1, column: 1 };
  const next = 'write --option speed=gen2';
  throw new Unusable([
    { code: 'usage', place, expected: 'NAME=CHOICE', got: `'${text.slice(0, 60)}'`, next },
  ]);
}

async function replace(name: string, options: ReplaceOptions): Promise<void> {
  const { readInputs, rearMapFiles, usable } = await import('../answering.ts');
  const { replaceInCase } = await import('../../engine/index.ts');
  const chosen = Object.fromEntries(options.option.map(choiceOf));
  const inputs = await readInputs(name, options.parts);
  const rearMaps = await rearMapFiles(name, inputs.source);
  const wish = { part: options.with, options: chosen, rearMaps };
  const document = await usable(replaceInCase(inputs.source, inputs.library, wish), inputs);
  process.exitCode = statusOfLevel(document.verdict.level, options.allowUnknown === true);
  if (options.json) {
    printJson(document);
    return;
  }
  const { replacementCsv, replacementText } = await import('../../report/index.ts');
  const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
  print(options.csv ? replacementCsv(document) : replacementText(document, look));
}

export function replaceCommand(): Command {
  return new Command('replace')
    .description('put another module in the place of a case’s and compare the two')
    .argument('<case>', caseArgument)
    .requiredOption('--with <part>', 'id of the new module')
    .addOption(
      new Option(
        '--option <choice>',
        'build option of the new module, as speed=gen2; again for more',
      )
        .argParser((text: string, earlier: string[] | undefined) => [...(earlier ?? []), text])
        .default([], 'its defaults'),
    )
    .option('--csv', 'pins that change, as comma-separated values')
    .addOption(jsonOption('the document'))
    .addOption(allowUnknownOption())
    .addOption(partsOption())
    .action(replace);
}
