/** `take`: evidence on its own, before any case is laid beside it. */
import { Command } from 'commander';
import { jsonOption } from '../options.ts';

interface TakeOptions {
  readonly json?: true;
}

async function take(name: string, options: TakeOptions): Promise<void> {
  const { takeDump } = await import('../taking/dump.ts');
  await takeDump(name, options);
}

export function takeCommand(): Command {
  return new Command('take')
    .description('read a register dump and decode every field of every function')
    .argument(
      '<evidence>',
      'listing, image, tar archive or folder of configuration spaces, or - for standard input',
    )
    .addOption(jsonOption('the dump document'))
    .action(take);
}
