/** The command line as a whole. */
import { Command } from 'commander';
import { briefCommand } from './commands/brief.ts';
import { calibrateCommand } from './commands/calibrate.ts';
import { checkCommand } from './commands/check.ts';
import { compareCommand } from './commands/compare.ts';
import { lossCommand } from './commands/loss.ts';
import { newCommand } from './commands/new.ts';
import { partsCommand } from './commands/parts.ts';
import { pinsCommand } from './commands/pins.ts';
import { predictCommand } from './commands/predict.ts';
import { rateCommand } from './commands/rate.ts';
import { reconcileCommand } from './commands/reconcile.ts';
import { replaceCommand } from './commands/replace.ts';
import { reportCommand } from './commands/report.ts';
import { simulateCommand } from './commands/simulate.ts';
import { takeCommand } from './commands/take.ts';

const statusHelp = `
Exit status:
  0  everything checked is ok or caution
  1  a stop, or an unknown without --allow-unknown
  2  the input or the command line cannot be used
`;

/** The program with all commands; parsing throws CommanderError instead of ending the process. */
export function buildProgram(): Command {
  const program = new Command('lanewright')
    .description('Fit, rate and prove mezzanine I/O modules and the links that feed them.')
    .option('-V, --version', 'print the version')
    .addHelpText('after', statusHelp);
  const commands = [
    checkCommand(),
    rateCommand(),
    compareCommand(),
    simulateCommand(),
    takeCommand(),
    lossCommand(),
    reconcileCommand(),
    calibrateCommand(),
    predictCommand(),
    newCommand(),
    partsCommand(),
    pinsCommand(),
    replaceCommand(),
    reportCommand(),
    briefCommand(),
  ];
  for (const command of commands) program.addCommand(command);
  for (const command of [program, ...commands]) {
    command.exitOverride().configureOutput({ outputError: () => {} });
  }
  return program;
}
