/** One row of a table as texts that know where they stand. */
import type { At } from './notes.ts';

/** Cells of a row; blanks around a cell are dropped. */
export interface TableRecord {
  readonly at: At;
  readonly texts: readonly string[];
  /** Place of each cell; absent for a plain line, where `placeOf` works it out. */
  readonly places?: readonly At[];
  /** The plain line and its delimiter. */
  readonly line?: string;
  readonly delimiter?: string;
}

/** Place of cell `index`; one past the end of the row when it has fewer. */
export function placeOf(record: TableRecord, index: number): At {
  const { at, places, line, delimiter } = record;
  if (places !== undefined) return places[index] ?? places.at(-1) ?? at;
  if (line === undefined || delimiter === undefined) return at;
  let start = 0;
  for (let i = 0; i < index; i += 1) {
    const end = line.indexOf(delimiter, start);
    if (end < 0) return { line: at.line, column: line.length + 1 };
    start = end + 1;
  }
  const blanks = /[^ \t\u00a0]|$/g;
  blanks.lastIndex = start;
  const found = blanks.exec(line)?.index ?? start;
  const stop = line.indexOf(delimiter, start);
  return { line: at.line, column: (stop >= 0 && found > stop ? start : found) + 1 };
}

/** Takes the rows of a table. */
export interface RecordSink {
  /** Names of columns, when they come in a row of their own; they may come once. */
  names(record: TableRecord): void;
  record(record: TableRecord): void;
  /**
   * For rows that carry their own names: the index that the name's cells will have.
   * Undefined when there are more columns than are kept.
   */
  column(name: string, at: At): number | undefined;
  /** True when nothing more is wanted. */
  readonly done: boolean;
}
