#!/usr/bin/env node
/** Entry of the command line. Only what a command needs is loaded: start-up time is waiting time. */
import { CommanderError } from 'commander';
import { InputError } from '../model/problem.ts';
import { endOnClosedPipe, note, print } from './console.ts';
import { buildProgram } from './program.ts';
import { STATUS_UNUSABLE } from './status.ts';
import { reportUnusable, Unusable } from './unusable.ts';

/** A command line that cannot be used, in the form of any other problem. */
function usageProblem(error: CommanderError): Unusable {
  const got = error.message.replace(/^error: /, '').replaceAll('\n', ' ');
  const place = { file: 'command line', line: 1, column: 1 };
  const expected = 'a command and its arguments';
  return new Unusable([{ code: 'usage', place, expected, got, next: "see 'lanewright --help'" }]);
}

async function settle(error: unknown, json: boolean): Promise<void> {
  if (error instanceof CommanderError) {
    // Help that was asked for is an answer; help for want of a command has been printed already.
    if (error.exitCode === 0) process.exitCode = 0;
    else if (error.code === 'commander.help') process.exitCode = STATUS_UNUSABLE;
    else await reportUnusable(usageProblem(error), json);
    return;
  }
  if (error instanceof Unusable) return reportUnusable(error, json);
  if (error instanceof InputError) return reportUnusable(new Unusable(error.problems), json);
  process.exitCode = STATUS_UNUSABLE;
  const detail = error instanceof Error ? (error.stack ?? error.message) : String(error);
  note(`fault in lanewright itself; the input may be in order. Please report this:\n${detail}`);
}

async function main(words: readonly string[]): Promise<void> {
  endOnClosedPipe();
  if (words.length === 1 && (words[0] === '--version' || words[0] === '-V')) {
    const { version } = await import('../engine/index.ts');
    print(`${version}\n`);
    return;
  }
  try {
    await buildProgram().parseAsync([...words], { from: 'user' });
  } catch (error) {
    await settle(error, words.includes('--json'));
  }
}

await main(process.argv.slice(2));
