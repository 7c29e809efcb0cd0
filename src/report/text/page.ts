/** A page of text under construction: a fixed width, wrapped paragraphs, labelled lines, tables. */
import type { Level } from '../../model/finding.ts';
import { cleanText } from '../clean.ts';
import { displayWidth, padTo, shorten, wrap } from './width.ts';

/** What a piece of text is; the caller decides how that looks on its terminal. */
export type Role = 'heading' | 'faint' | Level;

/** Styles a piece of text without changing its width; the identity for plain output. */
export type Paint = (role: Role, text: string) => string;

/** The `Paint` of plain text. */
export const plain: Paint = (_role, text) => text;

export interface Column {
  readonly title: string;
  readonly align?: 'left' | 'right';
  /** May be narrowed down to this many cells, its text wrapped, when the table is too wide. */
  readonly least?: number;
}

const gap = 2;

/** Widths of the columns: as wide as needed, the flexible ones shrunk in proportion to fit. */
function columnWidths(
  columns: readonly Column[],
  rows: readonly string[][],
  room: number,
): number[] {
  const wanted = columns.map((column, i) =>
    Math.max(displayWidth(column.title), ...rows.map((row) => displayWidth(row[i] ?? ''))),
  );
  const spare = room - gap * (columns.length - 1);
  let over = wanted.reduce((sum, w) => sum + w, 0) - spare;
  while (over > 0) {
    // The widest column that may still shrink gives way, one cell at a time: rows are few.
    let widest = -1;
    for (let i = 0; i < columns.length; i += 1) {
      const least = columns[i]!.least;
      if (least === undefined || wanted[i]! <= least) continue;
      if (widest < 0 || wanted[i]! > wanted[widest]!) widest = i;
    }
    if (widest < 0) break;
    wanted[widest]! -= 1;
    over -= 1;
  }
  return wanted;
}

export class Page {
  readonly width: number;
  readonly paint: Paint;
  private readonly lines: string[] = [];

  constructor(width: number, paint: Paint) {
    this.width = Math.max(40, width);
    this.paint = paint;
  }

  /** One empty line, never two, none at the start. */
  space(): void {
    if (this.lines.length > 0 && this.lines.at(-1) !== '') this.lines.push('');
  }

  /** A line that is known to fit, already painted. */
  raw(line: string): void {
    this.lines.push(line.trimEnd());
  }

  /** A heading over a rule of its own length. */
  heading(text: string): void {
    this.space();
    for (const line of wrap(cleanText(text), this.width)) this.raw(this.paint('heading', line));
    const rule = Math.min(this.width, displayWidth(cleanText(text)));
    this.raw(this.paint('faint', '-'.repeat(Math.max(1, rule))));
  }

  /** A paragraph; `indent` cells in. Nothing when the text is empty. */
  paragraph(text: string, indent = 0, role?: Role): void {
    for (const line of wrap(cleanText(text), this.width - indent)) {
      this.raw(' '.repeat(indent) + (role ? this.paint(role, line) : line));
    }
  }

  /** `label  text`, the text wrapped under itself. */
  labelled(label: string, text: string, indent: number, labelWidth: number, role?: Role): void {
    const cleaned = cleanText(text);
    if (cleaned === '') return;
    const name = padTo(cleanText(label), labelWidth);
    const left = indent + labelWidth + gap;
    wrap(cleaned, this.width - left).forEach((line, i) => {
      const start = i === 0 ? (role ? this.paint(role, name) : name) : ' '.repeat(labelWidth);
      this.raw(`${' '.repeat(indent)}${start}${' '.repeat(gap)}${line}`);
    });
  }

  /** A list item with a hanging indent. */
  item(text: string, indent = 0): void {
    this.labelled('-', text, indent, 1);
  }

  /** A table with a heading row; cells too wide for their column go on in the next line. */
  table(columns: readonly Column[], rows: readonly string[][], indent = 0): void {
    const cleaned = rows.map((row) => row.map((cell) => cleanText(cell)));
    const widths = columnWidths(columns, cleaned, this.width - indent);
    const line = (cells: readonly string[]) => {
      const padded = columns.map((c, i) => padTo(cells[i] ?? '', widths[i]!, c.align));
      const text = ' '.repeat(indent) + padded.join(' '.repeat(gap));
      return shorten(text.trimEnd(), this.width);
    };
    this.raw(this.paint('faint', line(columns.map((c) => c.title))));
    for (const row of cleaned) {
      const cells = columns.map((column, i) => {
        const cell = row[i] ?? '';
        return column.least === undefined ? [cell] : wrap(cell, widths[i]!);
      });
      const height = Math.max(1, ...cells.map((c) => c.length));
      for (let at = 0; at < height; at += 1) this.raw(line(cells.map((c) => c[at] ?? '')));
    }
  }

  /** The whole text, one newline at its end. */
  text(): string {
    return `${this.lines.join('\n').trimEnd()}\n`;
  }
}
