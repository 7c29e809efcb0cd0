/**
 * Makes foreign text inert. Names and wordings in a document come from files that anybody may have
 * written; on a terminal an escape sequence could redraw the screen, and a bidirectional control
 * could make a line read as something else.
 */

// ECMA-48 section 5: an escape, its intermediates and its final byte. Of a control string (OSC, DCS)
// only the introducer goes: taking what follows could hide wording that is not the sender's.
const esc = '\u001b';
const controlSequence = new RegExp(`(?:${esc}\\[|\u009b)[0-?]{0,64}[ -/]{0,8}[@-~]?`, 'g');
const otherEscape = new RegExp(`${esc}[ -/]{0,8}[0-~]?`, 'g');
const whiteSpace = /[\s\u0085\u00a0\u180e]+/g;
const control = /\p{Cc}/gu;
/** Format characters except the two joiners that scripts and emoji need, and private use. */
const format = /(?![\u200c\u200d])\p{Cf}|[\ufff9-\ufffb]/gu;
/** More marks than this on one letter only serve to draw over the neighbouring lines. */
const markPile = /(\p{M}{4})\p{M}+/gu;
const loneSurrogate = /[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g;

/**
 * One line of text without escape sequences, control characters, direction overrides or lone
 * surrogates; runs of white space become one space. `whenEmpty` stands in for text of which nothing
 * is left.
 */
export function cleanText(text: string, whenEmpty = ''): string {
  const cleaned = text
    .replace(controlSequence, '')
    .replace(otherEscape, '')
    .replace(whiteSpace, ' ')
    .replace(control, '')
    .replace(format, '')
    .replace(markPile, '$1')
    .replace(loneSurrogate, '\ufffd')
    .trim();
  return cleaned === '' ? whenEmpty : cleaned;
}

const numberAndUnit =
  /(\d) (?=(?:[kKMGTPmnpuµ]i?)?(?:B|b|bit|s|Hz|Bd|baud|T|S|V|A|W|K|m|%|degC|°C)(?:\/[sW])?(?![\w]))/g;

/** The text with no-break spaces between numbers and their units. */
export function keepUnits(text: string): string {
  return text.replace(numberAndUnit, '$1\u00a0');
}
