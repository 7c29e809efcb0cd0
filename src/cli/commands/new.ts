/** `new`: a case to start from, or the JSON Schema of a file. */
import { Command, Option } from 'commander';
import { print } from '../console.ts';
import { Unusable } from '../unusable.ts';

interface NewOptions {
  readonly title: string;
  readonly module?: string;
  readonly carrier?: string;
  readonly site?: string;
  readonly host?: string;
  readonly slot?: string;
  readonly schema?: 'case' | 'part';
  readonly force?: true;
}

/** Delivered parts that go together, for a case that names none. */
const starters = {
  module: 'tern-256',
  carrier: 'keel-3u',
  site: 'A',
  host: 'binnacle',
  slot: 'rack-air',
};

function partsAsked({ module, carrier, site, host, slot }: NewOptions) {
  if ([module, carrier, site, host, slot].every((id) => id === undefined)) {
    const { carrier: part, site, ...rest } = starters;
    return { ...rest, carrier: { part, site } };
  }
  if (module === undefined || (site !== undefined && carrier === undefined)) {
    const missing = module === undefined ? '--module' : '--carrier';
    const place = { file: 'command line', line: 1, column: 1 };
    const got = `no ${missing}`;
    const next = `add ${missing} and the id of a part; 'lanewright parts' lists them`;
    throw new Unusable([{ code: 'usage', place, expected: `an id after ${missing}`, got, next }]);
  }
  return {
    module,
    ...(carrier === undefined
      ? {}
      : { carrier: site === undefined ? { part: carrier } : { part: carrier, site } }),
    ...(host === undefined ? {} : { host }),
    ...(slot === undefined ? {} : { slot }),
  };
}

async function contents(options: NewOptions): Promise<string> {
  const { caseJsonSchema, newCaseText, partJsonSchema } = await import('../../engine/index.ts');
  if (options.schema === undefined) {
    return newCaseText({ title: options.title, ...partsAsked(options) });
  }
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
    .option('--title <text>', 'title of the case', 'New case')
    .option('--module <id>', 'the module; without any part, delivered ones that go together')
    .option('--carrier <id>', 'the carrier')
    .option('--site <name>', 'the site of the carrier')
    .option('--host <id>', 'the host computer')
    .option('--slot <id>', 'the slot')
    .addOption(
      new Option('--schema <kind>', 'the JSON Schema of a kind of file instead').choices([
        'case',
        'part',
      ]),
    )
    .option('--force', 'write over a file that exists')
    .action(start);
}
