/** Keeps what a file leaves open: each thing once, with its first place and how often it is met. */
import type { At, Notes } from './notes.ts';
import type { Ambiguity, AmbiguityKind, Choice } from './types.ts';

/** Most things left open that are kept; past it a file is not the table it is taken for. */
const AMBIGUITIES_MAX = 64;

interface Open {
  readonly kind: AmbiguityKind;
  readonly at: At;
  readonly choices: readonly Choice[];
  readonly next: string;
  cells: number;
}

/** What is open in one file. */
export class Ambiguities {
  readonly #open = new Map<string, Open>();
  readonly #notes: Notes;

  constructor(notes: Notes) {
    this.#notes = notes;
  }

  /** Counts one cell; true when `id` is kept, false when there are too many already. */
  meet(id: string, make: () => Omit<Open, 'cells'>): boolean {
    let open = this.#open.get(id);
    if (open === undefined) {
      if (this.#open.size >= AMBIGUITIES_MAX) return false;
      open = { ...make(), cells: 0 };
      this.#open.set(id, open);
    }
    open.cells += 1;
    return true;
  }

  /** All of them in the order met; each is a finding as well. */
  result(): readonly Ambiguity[] {
    const found: Ambiguity[] = [];
    for (const [id, { kind, at, choices, next, cells }] of this.#open) {
      const place = { file: this.#notes.file, line: at.line, column: at.column };
      found.push({ id, kind, place, cells, choices, next });
      const unit = kind === 'unit' || kind === 'no unit';
      this.#notes.finding({
        id: 'evidence-ambiguous',
        level: 'unknown',
        subject: id,
        message:
          `line ${at.line}, column ${at.column}: ${cells} cell${cells === 1 ? '' : 's'} can mean ` +
          choices.map((c) => `${c.id} (${c.meaning})`).join(', or '),
        next,
        ...(unit && { clause: 'IEC 80000-13:2008, SI Brochure table 7', basis: 'standard' }),
      });
    }
    return found;
  }
}
