/**
 * A document as the typesetter takes it: sections of blocks, all of it data. Words from outside are
 * strings in it and never become markup.
 */
import type { Level } from '../../model/finding.ts';

/** A cell is words, or a level that is drawn as a mark with its word. */
export type PrintCell = string | { readonly level: Level };

export interface PrintColumn {
  readonly title: string;
  /** Set to the right, in figures of one width. */
  readonly number?: boolean;
  /** Share of the line; columns without one are as wide as their content. */
  readonly share?: number;
}

export interface PrintTable {
  readonly kind: 'table';
  readonly caption: string;
  readonly columns: readonly PrintColumn[];
  readonly rows: readonly (readonly PrintCell[])[];
}

export type PrintBlock =
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'small'; readonly text: string }
  | { readonly kind: 'heading'; readonly text: string; readonly level?: Level }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'numbered'; readonly items: readonly string[] }
  | {
      readonly kind: 'finding';
      readonly level: Level;
      readonly subject: string;
      readonly message: string;
      readonly next: string;
      readonly clause: string;
      readonly values: PrintTable | null;
    }
  | {
      readonly kind: 'verdict';
      readonly levels: readonly { readonly about: string; readonly level: Level }[];
      readonly worst: Level;
      readonly summary: string;
      readonly decide: string;
    }
  | {
      readonly kind: 'figure';
      /** Key of `figures` in the document. */
      readonly name: string;
      /** What a reader who cannot see it needs to know. */
      readonly description: string;
    }
  | {
      /** One step of a sheet that is worked through with a pen. */
      readonly kind: 'step';
      readonly number: number;
      readonly title: string;
      readonly action: string;
      readonly expect: readonly string[];
      /** Each gets a line to write on. */
      readonly record: readonly string[];
      /** Empty where no command reads the result. */
      readonly command: string;
    }
  | { readonly kind: 'signatures'; readonly roles: readonly string[] }
  | PrintTable;

export interface PrintSection {
  readonly title: string;
  readonly blocks: readonly PrintBlock[];
}

export interface PrintDocument {
  readonly title: string;
  readonly question: string;
  /** Revision, file, hash …: what identifies the document. */
  readonly fields: readonly { readonly name: string; readonly value: string }[];
  /** Year, month and day of the document; absent when nobody stated one. */
  readonly date?: readonly [number, number, number];
  /** What stands at the foot of every page beside its number. */
  readonly foot: string;
  readonly sections: readonly PrintSection[];
  /** Figures as SVG, by name. */
  readonly figures: Readonly<Record<string, string>>;
}
