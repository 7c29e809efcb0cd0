/** `loss`: the insertion loss of a channel from a file of network parameters. */
import { Command, InvalidArgumentError, Option } from 'commander';
import { portOrders } from '../../engine/index.ts';
import { print, printJson } from '../console.ts';
import { jsonOption } from '../options.ts';

interface LossOptions {
  readonly at: string;
  readonly ports?: (typeof portOrders)[number];
  readonly json?: true;
}

async function loss(name: string, options: LossOptions): Promise<void> {
  const { lossOf } = await import('../../engine/index.ts');
  const { readText, relativeName } = await import('../../io/index.ts');
  const { Unusable } = await import('../unusable.ts');
  const source = await readText(name, relativeName(name, process.cwd()));
  const read = lossOf(source, options.at, options.ports);
  if (!read.ok) throw new Unusable(read.problems, new Map([[source.file, source.text]]));
  if (options.json) printJson(read.value);
  else {
    const { file, decibels, frequency, ports, order } = read.value;
    const how = order === undefined ? `${ports} ports` : `${ports} ports, ${order}`;
    print(`${decibels} dB at ${frequency}: ${file}, ${how}\n`);
  }
}

function frequency(text: string): string {
  if (/^\d+(?:\.\d+)?\s*[kMG]?Hz$/.test(text)) return text;
  throw new InvalidArgumentError('Expected a frequency, such as 4GHz.');
}

export function lossCommand(): Command {
  return new Command('loss')
    .description('give the insertion loss of a Touchstone file at a frequency')
    .argument('<file>', 'Touchstone file, such as channel.s4p')
    .addOption(
      new Option('--at <frequency>', 'half the line rate, as 4GHz')
        .argParser(frequency)
        .makeOptionMandatory(),
    )
    .addOption(
      new Option('--ports <order>', 'which of four ports are near').choices([...portOrders]),
    )
    .addOption(jsonOption('the result'))
    .action(loss);
}
