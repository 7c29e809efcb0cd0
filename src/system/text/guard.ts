/**
 * Bounds checked before a text is composed into nodes. The composer recurses per level and compares
 * each key with all others of its mapping, so depth and count must be known to be small first.
 */
import { CST, Lexer } from 'yaml';
import type { ProblemCode } from './problems.ts';

/** Largest text read, in UTF-16 units. A case file of the demo has about 3 000. */
export const TEXT_MAX = 1_048_576;
/** Most values, keys and marks (`-`, `?`, `:`, `,` and brackets); the demo has about 1 000. */
export const TOKENS_MAX = 10_000;
/** Most pieces of any kind, spaces, line ends and comments included; the demo has about 3 000. */
const PIECES_MAX = 100_000;
/** Deepest nesting; the file formats need 7. */
export const DEPTH_MAX = 32;
/** Most marks on one line outside brackets, each of which may open a level. */
const LINE_MARKS_MAX = 64;

const openers = new Set(['seq-item-ind', 'explicit-key-ind', 'map-value-ind']);
const counted = new Set([
  ...openers,
  'scalar',
  'single-quoted-scalar',
  'double-quoted-scalar',
  'alias',
  'anchor',
  'tag',
  'doc-mode',
  'doc-start',
  'doc-end',
  'directive-line',
  'comma',
  'flow-map-start',
  'flow-seq-start',
]);
/** Marks the lexer puts between tokens; they are not in the text. */
const weightless = new Set<string>([CST.DOCUMENT, CST.FLOW_END, CST.SCALAR]);

/** A bound that a text breaks. */
export interface Excess {
  readonly code: ProblemCode;
  /** Offset of the first character beyond the bound. */
  readonly offset: number;
  readonly expected: string;
  readonly got: string;
}

/** The first bound the text breaks, or undefined. Runs in time proportional to the length. */
export function excessOf(text: string): Excess | undefined {
  if (text.length > TEXT_MAX) {
    const expected = `a text of at most ${TEXT_MAX} characters`;
    return { code: 'yaml-limit', offset: 0, expected, got: `${text.length} characters` };
  }
  return countTokens(text);
}

function countTokens(text: string): Excess | undefined {
  let offset = 0;
  let tokens = 0;
  let pieces = 0;
  let brackets = 0;
  let onLine = 0;
  const over = (what: string, most: number): Excess => ({
    code: 'yaml-limit',
    offset,
    expected: `at most ${most} ${what}`,
    got: 'more',
  });
  for (const token of new Lexer().lex(text)) {
    const type = CST.tokenType(token);
    pieces += 1;
    if (type !== null && counted.has(type)) tokens += 1;
    if (type === 'flow-map-start' || type === 'flow-seq-start') brackets += 1;
    else if (type === 'flow-map-end' || type === 'flow-seq-end')
      brackets = Math.max(0, brackets - 1);
    else if (type === 'newline') onLine = 0;
    else if (brackets === 0 && type !== null && openers.has(type)) onLine += 1;
    if (pieces > PIECES_MAX) return over('words, marks, spaces and line ends', PIECES_MAX);
    if (tokens > TOKENS_MAX) return over('values, keys and marks', TOKENS_MAX);
    if (brackets > DEPTH_MAX) return over('levels of nesting', DEPTH_MAX);
    if (onLine > LINE_MARKS_MAX) return over("of '-', '?' and ':' on a line", LINE_MARKS_MAX);
    if (!weightless.has(token)) offset += token.length;
  }
  return undefined;
}
