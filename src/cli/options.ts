/** Options that several commands share, worded once. */
import { Option } from 'commander';

/** `--parts DIR`, which may be given more than once. */
export function partsOption(): Option {
  return new Option('--parts <dir>', 'look for parts in this folder too, before the delivered ones')
    .argParser((dir: string, earlier: string[] | undefined) => [...(earlier ?? []), dir])
    .default([], 'none');
}

export function jsonOption(what: string): Option {
  return new Option('--json', `print only ${what}, as JSON`);
}

export function allowUnknownOption(): Option {
  return new Option('--allow-unknown', 'end with status 0 although a value is missing');
}

/** `--figures DIR`. */
export function figuresOption(): Option {
  return new Option('--figures <dir>', 'also write the figures as SVG files of this folder');
}

/** What `<case>` is, wherever a command takes one. */
export const caseArgument = 'case file, or - for standard input';
