/** Library entries as text: the list, and one part with its options and values. */
import type { Basis } from '../../model/basis.ts';
import { cleanText } from '../clean.ts';
import { citation, numberSources } from '../sources.ts';
import { Page, type Paint, plain } from './page.ts';

/** One line of the list of parts. */
export interface PartEntry {
  readonly id: string;
  readonly kind: string;
  readonly title: string;
  /** File the part is written in. */
  readonly file: string;
}

/** One value of a part: the path of its key, the value as written, and where it comes from. */
export interface PartValue {
  readonly key: string;
  readonly text: string;
  readonly basis?: Basis;
  readonly reference?: string;
}

/** A part with everything its file says. */
export interface PartSheet extends PartEntry {
  readonly options: readonly {
    readonly name: string;
    readonly chosen: string;
    readonly choices: readonly string[];
  }[];
  readonly values: readonly PartValue[];
}

interface Look {
  readonly width?: number;
  readonly paint?: Paint;
}

/** The list of parts as a table. */
export function partsText(parts: readonly PartEntry[], look: Look = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  if (parts.length === 0) page.paragraph('No parts.');
  else {
    page.table(
      [{ title: 'part', least: 16 }, { title: 'kind' }, { title: 'title', least: 20 }],
      parts.map((p) => [p.id, p.kind, p.title]),
    );
  }
  return page.text();
}

/** One part: head, build options with their choices, values with their basis. */
export function partText(part: PartSheet, look: Look = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  page.heading(`${cleanText(part.id)}: ${cleanText(part.title, '(untitled)')}`);
  page.labelled('kind', part.kind, 0, 8);
  page.labelled('file', part.file, 0, 8);
  for (const option of part.options) {
    const choices = option.choices
      .map((c) => (c === option.chosen ? `${cleanText(c)} (unless the case says)` : cleanText(c)))
      .join(', ');
    page.labelled('option', `${cleanText(option.name)}: ${choices}`, 0, 8);
  }
  const sources = numberSources(part.values.map((v) => v.reference));
  if (part.values.length > 0) {
    page.space();
    page.table(
      [
        { title: 'value', least: 24 },
        { title: 'is', least: 12 },
        { title: 'basis', least: 14 },
      ],
      part.values.map((v) => [
        v.key,
        v.text,
        v.basis ? citation({ ...v, basis: v.basis }, sources) : '',
      ]),
    );
  }
  page.space();
  const label = `[${sources.list.length}]`.length;
  for (const [i, source] of sources.list.entries()) page.labelled(`[${i + 1}]`, source, 0, label);
  return page.text();
}
