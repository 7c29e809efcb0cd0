/** Pieces of an answer that other documents name as well. */

/** The unknown that widens a result most, and how to know it. */
export interface Widener {
  readonly name: string;
  readonly text: string;
  /** Sustained rate, bytes per second, with this unknown alone at its worst and at its best. */
  readonly low: number;
  readonly high: number;
  readonly ask: string;
}

/** A part the answer is about, as built. */
export interface AnswerPart {
  readonly kind: 'module' | 'carrier' | 'host' | 'switch' | 'slot';
  readonly id: string;
  readonly title: string;
  /** The site of a carrier that the module sits on. */
  readonly site?: string;
  /** Chosen build options, `name: choice`. */
  readonly options: readonly string[];
}
