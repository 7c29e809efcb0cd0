/** How many terminal cells a text takes, and fitting it into a given number of them. */
import { keepUnits } from '../clean.ts';

/**
 * Code points that take two cells: categories W and F of EastAsianWidth.txt, Unicode 14.0, with
 * unassigned gaps between two wide neighbours counted as wide, and the whole of planes 2 and 3,
 * which UAX #11 (Unicode Standard Annex 11, section 5) makes wide by default.
 */
const wideRanges = (
  '1100-115f 231a-231b 2329-232a 23e9-23ec 23f0 23f3 25fd-25fe 2614-2615 2648-2653 267f 2693 ' +
  '26a1 26aa-26ab 26bd-26be 26c4-26c5 26ce 26d4 26ea 26f2-26f3 26f5 26fa 26fd 2705 270a-270b ' +
  '2728 274c 274e 2753-2755 2757 2795-2797 27b0 27bf 2b1b-2b1c 2b50 2b55 2e80-303e 3041-3247 ' +
  '3250-4dbf 4e00-a4c6 a960-a97c ac00-d7a3 f900-fad9 fe10-fe19 fe30-fe6b ff01-ff60 ffe0-ffe6 ' +
  '16fe0-1b2fb 1f004 1f0cf 1f18e 1f191-1f19a 1f200-1f320 1f32d-1f335 1f337-1f37c 1f37e-1f393 ' +
  '1f3a0-1f3ca 1f3cf-1f3d3 1f3e0-1f3f0 1f3f4 1f3f8-1f43e 1f440 1f442-1f4fc 1f4ff-1f53d ' +
  '1f54b-1f54e 1f550-1f567 1f57a 1f595-1f596 1f5a4 1f5fb-1f64f 1f680-1f6c5 1f6cc 1f6d0-1f6d2 ' +
  '1f6d5-1f6df 1f6eb-1f6ec 1f6f4-1f6fc 1f7e0-1f7f0 1f90c-1f93a 1f93c-1f945 1f947-1f9ff ' +
  '1fa70-1faff 20000-3fffd'
)
  .split(' ')
  .map((range) => {
    const [first, last] = range.split('-').map((hex) => Number.parseInt(hex, 16));
    return { first: first!, last: last ?? first! };
  });

const zeroWidth = /^[\p{Mn}\p{Me}\p{Cf}\u1160-\u11ff]$/u;
const emojiVariation = 0xfe0f;
/** The first symbol outside Latin-1 that takes the emoji variation selector: a double exclamation. */
const firstSymbol = 0x203c;

function isWide(codePoint: number): boolean {
  if (codePoint < 0x1100) return false;
  let low = 0;
  let high = wideRanges.length - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const range = wideRanges[middle]!;
    if (codePoint < range.first) high = middle - 1;
    else if (codePoint > range.last) low = middle + 1;
    else return true;
  }
  return false;
}

/**
 * Cells of one character after `previous`. A joined emoji is counted part by part: a terminal that
 * joins them shows fewer cells, never more.
 */
function cellsOf(character: string, previous: string): number {
  const codePoint = character.codePointAt(0)!;
  if (codePoint < 0x7f) return 1;
  // The emoji variation selector turns a narrow symbol, none of them Latin, into a wide picture.
  if (codePoint === emojiVariation) {
    return (previous.codePointAt(0) ?? 0) >= firstSymbol && cellsOf(previous, '') === 1 ? 1 : 0;
  }
  if (zeroWidth.test(character)) return 0;
  return isWide(codePoint) ? 2 : 1;
}

/** Terminal cells of a cleaned text. */
export function displayWidth(text: string): number {
  let total = 0;
  let previous = '';
  for (const character of text) {
    total += cellsOf(character, previous);
    previous = character;
  }
  return total;
}

/** The longest start of `text` that fits `cells`, marks kept with their letter. */
export function head(text: string, cells: number): string {
  let used = 0;
  let previous = '';
  let length = 0;
  for (const character of text) {
    used += cellsOf(character, previous);
    if (used > cells) break;
    previous = character;
    length += character.length;
  }
  return text.slice(0, length);
}

/** The longest end of `text` that fits `cells` and does not start with a mark. */
export function tail(text: string, cells: number): string {
  const characters = [...text];
  let from = characters.length;
  for (let at = characters.length - 1; at >= 0; at -= 1) {
    const rest = characters.slice(at).join('');
    if (displayWidth(rest) > cells) break;
    if (cellsOf(characters[at]!, '') > 0) from = at;
  }
  return characters.slice(from).join('');
}

/** Shortens in the middle, where long names differ least: `port-car…-spectro`. */
export function shorten(text: string, cells: number): string {
  if (displayWidth(text) <= cells) return text;
  if (cells <= 1) return cells === 1 ? '…' : '';
  const front = Math.ceil((cells - 1) / 2);
  const start = head(text, front);
  return `${start}…${tail(text, cells - 1 - displayWidth(start))}`;
}

/** `text` cut and filled with spaces to exactly `cells`. */
export function padTo(text: string, cells: number, align: 'left' | 'right' = 'left'): string {
  const short = shorten(text, cells);
  const fill = ' '.repeat(Math.max(0, cells - displayWidth(short)));
  return align === 'left' ? short + fill : fill + short;
}

/** Lines of at most `cells`; breaks at spaces, and inside a word only when the word is longer. */
export function wrap(text: string, cells: number): string[] {
  const width = Math.max(2, cells);
  const lines: string[] = [];
  let line = '';
  const put = (word: string) => {
    let rest = word;
    while (displayWidth(rest) > width) {
      const part = head(rest, width);
      lines.push(part);
      rest = rest.slice(part.length);
    }
    line = rest;
  };
  for (const word of keepUnits(text).split(' ')) {
    if (word === '') continue;
    if (line === '') put(word);
    else if (displayWidth(line) + 1 + displayWidth(word) <= width) line += ` ${word}`;
    else {
      lines.push(line);
      put(word);
    }
  }
  if (line !== '') lines.push(line);
  return lines.map((l) => l.replaceAll('\u00a0', ' '));
}
