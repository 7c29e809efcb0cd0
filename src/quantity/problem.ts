/** What is wrong with the text of a quantity, and where. */
export interface QuantityProblem {
  /** Column in the text, from 1, in UTF-16 units; one past the end when something is missing. */
  readonly column: number;
  readonly expected: string;
  readonly got: string;
  /** What to do next. */
  readonly next: string;
}

/** Thrown by `quantity`; `problem` is what `parseQuantity` would have returned. */
export class QuantityError extends Error {
  readonly problem: QuantityProblem;

  constructor(text: string, problem: QuantityProblem) {
    const { column, expected, got, next } = problem;
    const shown = text.length > 60 ? `${text.slice(0, 60)}…` : text;
    super(`"${shown}", column ${column}: expected ${expected}; got ${got}; ${next}`);
    this.name = 'QuantityError';
    this.problem = problem;
  }
}

/** A piece of the text as it is shown in a message. */
export function quoted(piece: string): string {
  if (piece === '') return 'the end of the text';
  return piece.length > 40 ? `"${piece.slice(0, 40)}…"` : `"${piece}"`;
}
