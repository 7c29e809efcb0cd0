/** Functions and notes of one dump, from however many files it comes. */
import type { Finding } from '../../model/finding.ts';
import { Notes } from '../notes.ts';
import { addressText } from './address.ts';
import type { ConfigDump, ConfigSpace, DumpFormat } from './types.ts';
import { FUNCTIONS_MAX, spaceSizes } from './types.ts';

/** Every id that a finding of a dump reader may have; docs/registers.md explains each. */
export const dumpFindingIds = [
  'dump-bytes-missing',
  'dump-duplicate',
  'dump-file',
  'dump-heading',
  'dump-image-size',
  'dump-row',
  'dump-short',
  'dump-too-many',
  'dump-unnamed',
] as const;
export type DumpFindingId = (typeof dumpFindingIds)[number];

/** Shared by the readers of all files of a dump. */
export class DumpCollector {
  readonly notes: Notes;
  readonly #functions: ConfigSpace[] = [];
  readonly #seen = new Map<string, ConfigSpace>();
  #leftOut = 0;
  filesIgnored = 0;

  constructor(file: string) {
    this.notes = new Notes(file);
  }

  /** Says something that a person should know; never stops the reading. */
  say(
    id: DumpFindingId,
    subject: string,
    message: string,
    next: string,
    level: Finding['level'] = 'caution',
  ): void {
    this.notes.finding({ id, level, subject, message, next });
  }

  /** Takes a function; `what` names it in findings. */
  add(space: ConfigSpace, what: string): void {
    if (space.bytes.length === 0) {
      this.say('dump-short', what, 'no bytes are given', 'dump this function again', 'unknown');
      return;
    }
    if (this.#functions.length >= FUNCTIONS_MAX) {
      this.#leftOut += 1;
      return;
    }
    this.#checkSize(space, what);
    if (space.address !== undefined && this.#isKnown(space, what)) return;
    this.#functions.push(space);
  }

  result(format: DumpFormat): ConfigDump {
    if (this.#leftOut > 0) {
      this.say(
        'dump-too-many',
        this.notes.file,
        `${this.#leftOut} functions past the first ${FUNCTIONS_MAX} are left out`,
        'split the dump',
        'unknown',
      );
    }
    if (this.#functions.length === 0 && this.notes.clean) {
      // What stood in the way says more than that nothing was found.
      const [first] = this.notes.result().findings;
      this.notes.problem(
        'empty-evidence',
        { line: 1, column: 1 },
        {
          expected: 'configuration space of at least one function',
          got: first === undefined ? 'none' : `none: ${first.subject}: ${first.message}`,
          next: "give rows such as '00: 86 80 …' under a line that begins with bus:device.function, or an image of 64, 256 or 4096 bytes",
        },
      );
    }
    const { filesIgnored } = this;
    return { format, functions: this.#functions, filesIgnored, ...this.notes.result() };
  }

  #checkSize({ bytes, gaps }: ConfigSpace, what: string): void {
    const hex = (n: number) => `0x${n.toString(16).padStart(2, '0')}`;
    if (gaps.length > 0) {
      const list = gaps
        .slice(0, 4)
        .map((g) => `${hex(g.offset)} to ${hex(g.offset + g.length - 1)}`);
      if (gaps.length > 4) list.push(`${gaps.length - 4} more`);
      this.say(
        'dump-bytes-missing',
        what,
        `bytes are missing: ${list.join(', ')}`,
        'fields in them are left open; dump this function again',
        'unknown',
      );
    }
    if (spaceSizes.includes(bytes.length)) return;
    const next = spaceSizes.find((size) => size > bytes.length)!;
    this.say(
      'dump-short',
      what,
      `the bytes end at ${hex(bytes.length)}, short of ${next} bytes`,
      'fields behind that are left open; dump this function again',
      'unknown',
    );
  }

  /** True for a repetition of what is known; a second version that differs is kept. */
  #isKnown(space: ConfigSpace, what: string): boolean {
    const name = addressText(space.address!);
    const first = this.#seen.get(name);
    if (first === undefined) {
      this.#seen.set(name, space);
      return false;
    }
    const at = firstDifference(first.bytes, space.bytes);
    const where = `${first.place.file}, line ${first.place.line}`;
    if (at < 0) {
      this.say('dump-duplicate', what, `is in the dump twice, alike (${where})`, 'nothing to do');
      return true;
    }
    this.say(
      'dump-duplicate',
      what,
      `is in the dump twice and differs from 0x${at.toString(16)} on (${where}); both are kept`,
      'say which of the two moments is meant, or split the dump',
      'unknown',
    );
    return false;
  }
}

/** First offset at which two spaces differ, −1 for none. */
function firstDifference(a: Uint8Array, b: Uint8Array): number {
  const most = Math.max(a.length, b.length);
  for (let i = 0; i < most; i += 1) if (a[i] !== b[i]) return i;
  return -1;
}
