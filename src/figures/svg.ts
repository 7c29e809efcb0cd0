/**
 * SVG text built so that foreign text cannot become markup, and numbers are written one way: two
 * places, so that no picture hangs on the last bits of a float.
 */

/** Markup that is safe to put into other markup; only this file's functions make it. */
export interface Svg {
  readonly svg: string;
}

export type Attribute = string | number | undefined;

const entities: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
};

/**
 * Text for content and attributes: what XML 1.0 has no place for, and marks that turn the direction of
 * writing round, become the replacement character.
 */
export function escapeText(text: string): string {
  const clean = text.replace(forbidden, '\ufffd').replace(/\s+/g, ' ');
  return clean.replace(/[&<>"]/g, (c) => entities[c]!);
}

const forbidden =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the ones to take out
  /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufffe\uffff]|[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g;

/** A coordinate with at most two places, never `-0`. */
export function coordinate(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`figure: ${value} is no coordinate`);
  const hundredths = Math.round(value * 100);
  return `${hundredths / 100}`.replace(/^-0$/, '0');
}

/** One element; attributes that are undefined are left out. */
export function element(
  name: string,
  attributes: Readonly<Record<string, Attribute>>,
  ...content: readonly (Svg | string)[]
): Svg {
  const written = Object.entries(attributes)
    .filter((entry): entry is [string, string | number] => entry[1] !== undefined)
    .map(([key, v]) => ` ${key}="${typeof v === 'number' ? coordinate(v) : escapeText(v)}"`)
    .join('');
  const inner = content.map((c) => (typeof c === 'string' ? escapeText(c) : c.svg)).join('');
  return { svg: inner === '' ? `<${name}${written}/>` : `<${name}${written}>${inner}</${name}>` };
}

/** Several pieces as one. */
export function together(pieces: readonly Svg[]): Svg {
  return { svg: pieces.map((p) => p.svg).join('') };
}

/** Markup that another library made and that has been cleaned. */
export function trusted(svg: string): Svg {
  return { svg };
}
