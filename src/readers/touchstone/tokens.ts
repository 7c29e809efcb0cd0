/** Words of a Touchstone file with their places; comments begin with `!` and run to the line's end. */

export interface Token {
  readonly text: string;
  /** Both from 1. */
  readonly line: number;
  readonly column: number;
}

/** One line with something on it. */
export interface TokenLine {
  readonly line: number;
  readonly tokens: readonly Token[];
}

/** Lines that hold more than comments, in order. */
export function tokenLines(text: string): TokenLine[] {
  return text.split(/\r\n|\r|\n/).flatMap((raw, i) => {
    const code = raw.replace(/!.*$/, '');
    // A keyword is one word though it may hold spaces: `[Number of Ports]`.
    const tokens = [...code.matchAll(/\[[^\]]*\]?|[^\s[]+/g)].map((m) => ({
      text: m[0],
      line: i + 1,
      column: m.index + 1,
    }));
    return tokens.length === 0 ? [] : [{ line: i + 1, tokens }];
  });
}
