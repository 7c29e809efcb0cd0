/** The id of a part file from its lines alone: start-up need not parse a library to use two of it. */
import type { Place } from '../../model/basis.ts';
import { isName } from '../schema/shape.ts';
import type { SourceFile } from '../text/parse.ts';

/** An id and where it stands. */
export interface PartId {
  readonly id: string;
  readonly place: Place;
}

const firstLine = 'lanewright: part/1\n';

/**
 * The id that parsing the whole file would give, if the file is free of mistakes; undefined where the
 * lines alone do not say so, and the file must be parsed.
 *
 * A file that begins with a key in the first column is a block mapping. Its other lines in the first
 * column are its keys and comments: all that continues a value, quoted, bracketed or in a block, is
 * indented (YAML 1.2.2 §6.1, §7.3, §8.1). So one line `id: name` in that column, with no indented
 * line behind it, is the key `id` with a plain scalar. Anything rarer is left to the parser: other line
 * ends, other documents, quotes and comments beside the id, a second id.
 */
export function plainId({ file, text }: SourceFile): PartId | undefined {
  if (!text.startsWith(firstLine) || /\r|^(?:---|\.\.\.|%)/m.test(text)) return undefined;
  const lines = text.split('\n');
  const at = lines.findIndex((line) => line.startsWith('id:'));
  const line = lines[at];
  if (line === undefined || lines.some((other, i) => i !== at && /^["']?id["']?\s*:/.test(other)))
    return undefined;
  const [, gap, id] = /^id:( +)(\S(?:.*\S)?)$/.exec(line) ?? [];
  if (gap === undefined || id === undefined || !isName(id)) return undefined;
  const next = lines.slice(at + 1).find((other) => other !== '');
  if (next !== undefined && /^\s/.test(next)) return undefined;
  return { id, place: { file, line: at + 1, column: 'id:'.length + gap.length + 1 } };
}
