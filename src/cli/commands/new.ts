/** `new`: a case to start from, or the JSON Schema of a file. */
import { Command, Option } from 'commander';
import { print } from '../console.ts';

interface NewOptions {
  readonly schema?: 'case' | 'part';
  readonly force?: true;
}

async function contents(options: NewOptions): Promise<string> {
  const { caseJsonSchema, newCaseText, partJsonSchema } = await import('../../engine/index.ts');
  if (options.schema === undefined) return newCaseText();
  const schema = options.schema === 'case' ? caseJsonSchema() : partJsonSchema();
  return `${JSON.stringify(schema, undefined, 2)}\n`;
}

async function start(name: string | undefined, options: NewOptions): Promise<void> {
  const text = await contents(options);
  if (name === undefined || name === '-') {
    print(text);
    return;
  }
  const { relativeName, writeText } = await import('../../io/index.ts');
  const shown = relativeName(name, process.cwd());
  await writeText(name, text, options.force ? 'always' : 'never', shown);
  print(`${shown}\n`);
}

export function newCommand(): Command {
  return new Command('new')
    .description('write a commented case to start from')
    .argument('[file]', 'file to write; standard output when absent')
    .addOption(
      new Option('--schema <kind>', 'the JSON Schema of a kind of file instead').choices([
        'case',
        'part',
      ]),
    )
    .option('--force', 'write over a file that exists')
    .action(start);
}
