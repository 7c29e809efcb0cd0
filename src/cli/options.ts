/** Options that several commands share, worded once. */
import { InvalidArgumentError, Option } from 'commander';

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

/** `--date DAY`: a day of the calendar, since nothing here looks at a clock. */
export function dayOption(about: string): Option {
  return new Option('--date <day>', about).argParser((text: string) => {
    const [, year, month, date] = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text) ?? [];
    const when = new Date(`${text}T00:00:00Z`);
    const real = year !== undefined && when.getUTCMonth() + 1 === Number(month);
    if (real && when.getUTCDate() === Number(date)) return text;
    throw new InvalidArgumentError('Expected a day, such as 2026-11-25.');
  });
}

/** What `<case>` is, wherever a command takes one. */
export const caseArgument = 'case file, or - for standard input';
