/** Options of `take` that ask what follows from a register dump. Light: every start reads it. */
import { Option } from 'commander';

/** What of the command line asks for more than the dump itself. */
export interface DumpDiagnosisOptions {
  readonly json?: true;
  readonly diagnose?: true;
  readonly function?: string;
  readonly asCase?: true;
  readonly output?: string;
  readonly missingBelow?: string;
  readonly case?: string;
  readonly against?: string;
  readonly againstFunction?: string;
}

const keys = [
  'diagnose',
  'function',
  'asCase',
  'output',
  'missingBelow',
  'case',
  'against',
  'againstFunction',
] as const;

/** The options, for the command that takes dumps. */
export function dumpDiagnosisOptions(): Option[] {
  return [
    new Option('--diagnose', 'say what slows each endpoint of a register dump'),
    new Option('--function <address>', 'the function asked about, such as 03:00.0; diagnoses it'),
    new Option('--as-case', 'write the path of --function as a case with its parts'),
    new Option('-o, --output <file>', 'the case file to write'),
    new Option('--missing-below <address>', 'say why no card is seen below this port'),
    new Option(
      '--case <case>',
      'a case of the card, whose fit --missing-below asks; waveform of a parallel bus: its prediction',
    ),
    new Option('--against <dump>', 'compare with another dump what acts on the path of a function'),
    new Option('--against-function <address>', 'the function in the other dump, where it differs'),
  ];
}

/** Whether any of the options is given. */
export function asksDiagnosis(options: DumpDiagnosisOptions): boolean {
  return keys.some((key) => options[key] !== undefined);
}
