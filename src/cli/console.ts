/** The terminal: what may be styled, how wide it is, what happens when a reader goes away. */
import { styleText } from 'node:util';
import type { Paint, Role } from '../report/index.ts';

type Format = Parameters<typeof styleText>[0];

const formats: Readonly<Record<Role, Format>> = {
  heading: 'bold',
  faint: 'dim',
  ok: 'green',
  caution: 'yellow',
  unknown: 'cyan',
  stop: ['bold', 'red'],
};

/** Styles for a terminal that wants them; plain for files, pipes and `NO_COLOR` (no-color.org). */
export function paintFor(stream: NodeJS.WriteStream): Paint {
  const { NO_COLOR: refused, TERM: terminal } = process.env;
  if (!stream.isTTY || (refused !== undefined && refused !== '') || terminal === 'dumb') {
    return (_role, text) => text;
  }
  return (role, text) => styleText(formats[role], text);
}

/** Cells to fill: those of a narrow terminal, and never more than 80. */
export function widthOf(stream: NodeJS.WriteStream): number {
  return stream.isTTY && stream.columns > 0 ? Math.min(80, stream.columns) : 80;
}

/** Writes to standard output; a reader that has gone is no fault of ours. */
export function print(text: string): void {
  process.stdout.write(text);
}

/** Writes a document as JSON: two spaces, keys in the document's order, one newline at the end. */
export function printJson(document: object): void {
  print(`${JSON.stringify(document, undefined, 2)}\n`);
}

/** Writes a note for people to standard error. */
export function note(text: string): void {
  process.stderr.write(`${text}\n`);
}

const patienceMs = 1000;

/** Awaits `work`; says what is going on when it takes over a second on a terminal. */
export async function patiently<T>(what: string, work: Promise<T>): Promise<T> {
  if (!process.stderr.isTTY) return work;
  const timer = setTimeout(() => note(`${what} …`), patienceMs);
  try {
    return await work;
  } finally {
    clearTimeout(timer);
  }
}

/** Ends quietly when the reader of our output closes it, as `| head` does. */
export function endOnClosedPipe(): void {
  for (const stream of [process.stdout, process.stderr]) {
    stream.on('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'EPIPE') process.exit();
      throw error;
    });
  }
}
