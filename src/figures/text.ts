/** Text in a figure: estimated widths and wrapping. No browser is asked, so every face agrees. */
import { fontFamily, ink } from './style.ts';
import { element, type Svg } from './svg.ts';

/** Mean advances of a humanist sans, as parts of the type size; a little wide, so text never spills. */
const narrow = /[iljtfrI.,:;'|!()[\]{} ]/;
const wide = /[mwMWOQ@%&—]/;

/** About how wide a text is, in units of the view box. */
export function textWidth(text: string, size: number): number {
  let ems = 0;
  for (const c of text) {
    if (narrow.test(c)) ems += 0.32;
    else if (wide.test(c) || c.codePointAt(0)! > 0x2e7f) ems += 0.92;
    else ems += c >= 'A' && c <= 'Z' ? 0.64 : 0.55;
  }
  return ems * size;
}

/**
 * Lines no wider than `width`, broken at spaces; a word wider than that is broken where it must be.
 * Text past `most` lines ends in an ellipsis.
 */
export function wrap(text: string, width: number, size: number, most = 3): readonly string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/).filter((w) => w !== '')) {
    for (const piece of pieces(word, width, size)) {
      const joined = line === '' ? piece : `${line} ${piece}`;
      if (textWidth(joined, size) <= width) line = joined;
      else {
        lines.push(line);
        line = piece;
      }
    }
  }
  if (line !== '') lines.push(line);
  if (lines.length <= most) return lines;
  return [...lines.slice(0, most - 1), shorten(lines.slice(most - 1).join(' '), width, size)];
}

function pieces(word: string, width: number, size: number): string[] {
  if (textWidth(word, size) <= width) return [word];
  const out: string[] = [];
  let piece = '';
  for (const c of word) {
    if (piece !== '' && textWidth(piece + c, size) > width) {
      out.push(piece);
      piece = '';
    }
    piece += c;
  }
  return [...out, piece];
}

/** The text, or as much of it as fits with an ellipsis. */
export function shorten(text: string, width: number, size: number): string {
  if (textWidth(text, size) <= width) return text;
  let kept = '';
  for (const c of text) {
    if (textWidth(`${kept}${c}…`, size) > width) break;
    kept += c;
  }
  return `${kept.trimEnd()}…`;
}

export interface TextOptions {
  readonly x: number;
  /** Of the base line. */
  readonly y: number;
  readonly size: number;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly fill?: string;
  readonly bold?: boolean;
}

/** One line of text. */
export function label(text: string, { x, y, size, anchor, fill, bold }: TextOptions): Svg {
  return element(
    'text',
    {
      x,
      y,
      'font-family': fontFamily,
      'font-size': size,
      'text-anchor': anchor === 'start' ? undefined : anchor,
      'font-weight': bold === true ? '600' : undefined,
      fill: fill ?? ink.text,
    },
    text,
  );
}
