/**
 * Which characters a font has, read from its `cmap` table (ISO/IEC 14496-22, OpenType): formats 4 and 12.
 */

/** Ranges of code points, both ends included. */
type Ranges = readonly (readonly [number, number])[];

/** True for each code point that the font can show. */
export type Coverage = (codePoint: number) => boolean;

/** Start of the table that holds the mapping. */
function cmapAt(font: Buffer): number {
  const tables = font.readUInt16BE(4);
  for (let i = 0; i < tables; i++) {
    const at = 12 + i * 16;
    if (font.toString('latin1', at, at + 4) === 'cmap') return font.readUInt32BE(at + 8);
  }
  throw new RangeError('font: no cmap table');
}

function segments(font: Buffer, at: number): Ranges {
  const count = font.readUInt16BE(at + 6) / 2;
  const ends = at + 14;
  const starts = ends + count * 2 + 2;
  return Array.from({ length: count }, (_, i) => [
    font.readUInt16BE(starts + i * 2),
    font.readUInt16BE(ends + i * 2),
  ]);
}

function groups(font: Buffer, at: number): Ranges {
  const count = font.readUInt32BE(at + 12);
  return Array.from({ length: count }, (_, i) => [
    font.readUInt32BE(at + 16 + i * 12),
    font.readUInt32BE(at + 20 + i * 12),
  ]);
}

/**
 * What a TrueType or OpenType font covers, by its Unicode subtables.
 * @throws RangeError for bytes that are no font with a table of characters
 */
export function coverageOf(font: Buffer): Coverage {
  const cmap = cmapAt(font);
  const tables = font.readUInt16BE(cmap + 2);
  const ranges: (readonly [number, number])[] = [];
  for (let i = 0; i < tables; i++) {
    const platform = font.readUInt16BE(cmap + 4 + i * 8);
    const at = cmap + font.readUInt32BE(cmap + 8 + i * 8);
    const format = font.readUInt16BE(at);
    if (platform !== 0 && platform !== 3) continue;
    if (format === 4) ranges.push(...segments(font, at));
    if (format === 12) ranges.push(...groups(font, at));
  }
  // The last segment of format 4 ends at U+FFFF and maps nothing.
  const known = ranges.filter(([, last]) => last !== 0xffff);
  return (codePoint) => known.some(([first, last]) => codePoint >= first && codePoint <= last);
}

/** Spaces and joiners that are shown as nothing. */
const unseen = /\s|[\u200b\u200c]|\u200d|[\ufe00-\ufe0f]/u;

/** The text with what the font lacks as its code point: `[U+6E2C]`. */
export function shownIn(text: string, covers: Coverage): string {
  return text.replace(/[^\u0020-\u007e]/gu, (c) => {
    const codePoint = c.codePointAt(0)!;
    if (unseen.test(c) || covers(codePoint)) return c;
    return `[U+${codePoint.toString(16).toUpperCase().padStart(4, '0')}]`;
  });
}
