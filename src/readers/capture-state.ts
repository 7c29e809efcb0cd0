/** What is known of a capture while it is read; shared by the readers of both file formats. */
import type { CaptureClock } from './capture-time.ts';
import type { Notes } from './notes.ts';
import type { CaptureInterface } from './types.ts';

/** Largest block or record that is held in memory; far above any Ethernet frame. */
export const BLOCK_BYTES_MAX = 1024 * 1024;
/** Most interfaces of a file, and most kinds of skipped blocks told apart. */
export const INTERFACES_MAX = 1024;
const SKIPPED_TYPES_MAX = 64;

/** Interface under construction. */
export interface OpenInterface {
  info: Omit<CaptureInterface, 'frames'>;
  frames: number;
  readonly clock: CaptureClock;
}

/** State of one file. */
export class CaptureState {
  readonly notes: Notes;
  readonly interfaces: OpenInterface[] = [];
  readonly skipped = new Map<number, number>();
  /** Offset behind the last block or record that was whole. */
  readBytes = 0;
  /** True when the file cannot be followed any further. */
  stopped = false;

  constructor(notes: Notes) {
    this.notes = notes;
  }

  skip(type: number): void {
    if (!this.skipped.has(type) && this.skipped.size >= SKIPPED_TYPES_MAX) return;
    this.skipped.set(type, (this.skipped.get(type) ?? 0) + 1);
  }

  /** A block that contradicts itself. `fatal` when its end cannot be trusted either. */
  bad(expected: string, got: string, fatal: boolean): void {
    this.notes.problem(
      'bad-block',
      { line: 1, column: 1 },
      {
        expected,
        got: `${got}, in the block at byte offset ${this.readBytes}`,
        next: fatal
          ? 'what lies in front of it was read; check that the file was copied whole'
          : 'the block was left out; what follows was read',
      },
    );
    if (fatal) this.stopped = true;
  }

  /** The file ends inside a block. */
  cut(missing: string): void {
    this.notes.finding({
      id: 'evidence-cut',
      level: 'caution',
      subject: 'end of the capture',
      message: `the file ends inside the block at byte offset ${this.readBytes}: ${missing}`,
      next: 'what lies in front of it was read; copy the file again if more is expected',
    });
  }
}
