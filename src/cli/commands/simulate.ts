/** `simulate`: packet by packet, with the closed form beside it. */
import { Command, InvalidArgumentError, Option } from 'commander';
import { note, paintFor, print, printJson, widthOf } from '../console.ts';
import { caseArgument, jsonOption, partsOption } from '../options.ts';

interface SimulateFlags {
  readonly seed: number;
  readonly runs: number;
  readonly workers?: number;
  readonly time?: string;
  readonly skip: boolean;
  readonly turns: 'weighted' | 'equal';
  readonly reads?: 'stated' | 'fixed' | 'exponential';
  readonly series?: string;
  readonly step?: string;
  readonly waveform?: string;
  readonly diagram?: string;
  readonly diagramClocks: number;
  readonly json?: true;
  readonly parts: readonly string[];
}

async function simulate(name: string, flags: SimulateFlags): Promise<void> {
  const { simulateFile } = await import('../simulating.ts');
  const { document, series, written = [] } = await simulateFile(name, flags.parts, flags);
  if (flags.json) printJson(document);
  else {
    const { simulationText } = await import('../../report/index.ts');
    const look = { width: widthOf(process.stdout), paint: paintFor(process.stdout) };
    print(simulationText(document, look));
  }
  const lines = [...(series === undefined ? [] : [`series: ${series}`]), ...written];
  if (lines.length === 0) return;
  if (flags.json) for (const line of lines) note(line);
  else print(`\n${lines.join('\n')}\n`);
}

/** Reads a whole number within bounds. */
function whole(least: number, most: number) {
  return (text: string): number => {
    const value = /^[0-9]{1,16}$/.test(text) ? Number(text) : Number.NaN;
    if (value >= least && value <= most) return value;
    throw new InvalidArgumentError(`it must be a whole number from ${least} to ${most}`);
  };
}

export function simulateCommand(): Command {
  return new Command('simulate')
    .description('simulate a case packet by packet and lay the closed form beside it')
    .argument('<case>', caseArgument)
    .addOption(
      new Option('--seed <number>', 'seed of everything random')
        .argParser(whole(0, Number.MAX_SAFE_INTEGER))
        .default(1),
    )
    .addOption(
      new Option('--runs <number>', 'independent runs, for 90 % intervals of what is random')
        .argParser(whole(1, 10_000))
        .default(1),
    )
    .addOption(
      new Option('--workers <number>', 'runs at once; as many as processors when absent').argParser(
        whole(1, 256),
      ),
    )
    .option('--time <duration>', 'time to measure, as 10 ms; chosen by the traffic when absent')
    .option('--no-skip', 'dispatch every event, although the whole state recurs')
    .addOption(
      new Option('--turns <rule>', 'how streams that are ready at once take turns')
        .choices(['weighted', 'equal'])
        .default('weighted'),
    )
    .addOption(
      new Option(
        '--reads <times>',
        'how long the host takes to answer reads; as the case states when absent',
      ).choices(['stated', 'fixed', 'exponential']),
    )
    .option('--series <file>', 'also write throughput and queues over time, as CSV')
    .option('--step <duration>', 'time between rows of the series; a thousandth of all when absent')
    .option('--waveform <file>', 'parallel bus: also write its lines as a value change dump')
    .option('--diagram <file>', 'parallel bus: also draw its first clocks, as SVG or WaveJSON')
    .addOption(
      new Option('--diagram-clocks <number>', 'clocks of the diagram')
        .argParser(whole(2, 10_000))
        .default(100),
    )
    .addOption(jsonOption('the simulation document'))
    .addOption(partsOption())
    .action(simulate);
}
