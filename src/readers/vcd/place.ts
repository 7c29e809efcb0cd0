/** Where the reader is in the file, and problems told with that place. */
import { type At, type Complaint, Notes, quoted } from '../notes.ts';
import type { VcdProblemCode } from './problems.ts';

/** Longest piece of a bad word that a problem shows. */
const SHOWN_MAX = 60;

export class Position {
  readonly notes: Notes;
  /** Offset in the file of the first byte of the piece at hand. */
  base = 0;
  line = 1;
  /** Offset in the file of the first byte of the line. */
  lineStart = 0;

  constructor(file: string) {
    this.notes = new Notes(file);
  }

  /** Tells a problem at a byte of the piece at hand. */
  problem(code: VcdProblemCode, index: number, complaint: Complaint): void {
    const offset = this.base + index;
    const at: At = { line: this.line, column: Math.max(1, offset - this.lineStart + 1) };
    this.notes.problem(code, at, {
      ...complaint,
      got: `${complaint.got}, at byte offset ${offset}`,
    });
  }
}

/** Bytes as a person may see them, in quotes: ASCII as it is, others as U+FFFD. */
export function shown(bytes: Uint8Array, from: number, to: number): string {
  return quoted(plainText(bytes, from, Math.min(to, from + SHOWN_MAX + 1)));
}

/** Bytes as text where only ASCII is meant: others become U+FFFD. */
export function plainText(bytes: Uint8Array, from: number, to: number): string {
  let text = '';
  for (let i = from; i < to; i++) {
    text += bytes[i]! < 128 ? String.fromCharCode(bytes[i]!) : '\ufffd';
  }
  return text;
}

/** White space of the format: space, tab, line ends, vertical tab and form feed. */
export function isSpace(byte: number): boolean {
  return byte === 32 || (byte >= 9 && byte <= 13);
}
