/**
 * Reads value change dumps (IEEE 1364-2005, clause 18), streamed. Memory grows with what is declared
 * and with the longest word, never with the file.
 *
 * Limits: the extended format of $dumpports is refused; values are read at the end of each time, so a
 * glitch that begins and ends at one time is not seen; a time that is malformed, falls or passes 2^53
 * units ends the reading, as nothing behind it has a time.
 */
import type { ByteChunks } from '../types.ts';
import { ChangeReader } from './changes.ts';
import { DeclarationReader } from './declarations.ts';
import { isSpace, Position, plainText } from './place.ts';
import type { VcdDeclarations, VcdSummary, VcdWatch } from './types.ts';
import { WIDTH_MAX } from './values.ts';

/** Longest word, bytes: a value of a million bits, a name nobody types. */
export const WORD_MAX = 1_048_576;
/** Bytes looked at in one go: what is copied where a word is cut in two stays small. */
const PIECE_MAX = 262_144;

/** How a dump is read. */
export interface VcdOptions {
  /** Name shown in places. */
  readonly file: string;
  /** Chooses what to follow once everything is declared; undefined for declarations alone. */
  follow(declarations: VcdDeclarations): VcdWatch | undefined;
}

/**
 * Reads `chunks` to the end, or until nothing more can be used or is wanted. Never throws for what is
 * in the bytes. @throws RangeError when a variable to be followed is none, or wider than 65 536 bits
 */
export async function readVcd(chunks: ByteChunks, options: VcdOptions): Promise<VcdSummary> {
  const reading = new VcdReading(options);
  for await (const chunk of chunks) {
    reading.push(chunk);
    if (reading.done) break;
  }
  return reading.result();
}

/** As `readVcd`, for a caller who has chunks in hand: `push` them all, then ask for the `result`. */
export class VcdReading {
  /** True once nothing more is read. */
  done = false;
  readonly #options: VcdOptions;
  readonly #position: Position;
  readonly #declarations: DeclarationReader;
  #declared: VcdDeclarations | undefined;
  #changes: ChangeReader | undefined;
  /** The beginning of a word that the last piece cut in two. */
  #kept = new Uint8Array(256);
  #keptLength = 0;
  #bytes = 0;
  #stopped = false;

  constructor(options: VcdOptions) {
    this.#options = options;
    this.#position = new Position(options.file);
    this.#declarations = new DeclarationReader(this.#position);
  }

  /** The next bytes of the file. They are not kept. */
  push(chunk: Uint8Array): void {
    for (let at = 0; at < chunk.length && !this.done; at += PIECE_MAX) {
      const piece = chunk.subarray(at, at + PIECE_MAX);
      this.#bytes += piece.length;
      if (this.#keptLength === 0) this.#read(piece, piece.length);
      else this.#continue(piece);
    }
  }

  /** What was read. */
  result(): VcdSummary {
    const ended = !this.done;
    this.#end();
    const changes = this.#changes;
    changes?.finish();
    this.#declarations.tell();
    this.#tell();
    return {
      ...this.#position.notes.result(),
      ...(this.#declared && { declarations: this.#declared }),
      ...(changes?.first !== undefined && { first: changes.first }),
      ...(changes?.last !== undefined && { last: changes.last }),
      times: changes?.times ?? 0,
      changes: changes?.changes ?? 0,
      off: changes?.off ?? [],
      offCount: changes?.offCount ?? 0,
      bytes: ended ? this.#bytes : this.#position.base,
      stopped: this.#stopped,
    };
  }

  /** Joins what was kept with the next bytes; without white space in them no word ends there. */
  #continue(piece: Uint8Array): void {
    const length = this.#keptLength + piece.length;
    if (length > this.#kept.length) {
      const next = new Uint8Array(2 * length);
      next.set(this.#kept.subarray(0, this.#keptLength));
      this.#kept = next;
    }
    this.#kept.set(piece, this.#keptLength);
    this.#keptLength = length;
    if (!piece.some((byte) => byte <= 32)) {
      this.#checkLength();
      return;
    }
    const joined = this.#kept;
    this.#keptLength = 0;
    this.#read(joined, length);
  }

  #read(bytes: Uint8Array, length: number): void {
    let at = 0;
    if (this.#changes === undefined) at = this.#declare(bytes, length);
    if (this.#changes !== undefined && !this.done)
      at = this.#scan(this.#changes, bytes, at, length);
    this.#position.base += at;
    if (this.done) return;
    this.#keep(bytes, at, length);
    this.#checkLength();
  }

  #scan(changes: ChangeReader, bytes: Uint8Array, from: number, length: number): number {
    const at = changes.scan(bytes, from, length);
    if (changes.stopped) this.#stop();
    return at;
  }

  #keep(bytes: Uint8Array, from: number, to: number): void {
    const rest = to - from;
    // `bytes` may be `#kept` itself: copyWithin and set both allow for that.
    if (rest > this.#kept.length) this.#kept = bytes.slice(from, to);
    else this.#kept.set(bytes.subarray(from, to));
    this.#keptLength = rest;
  }

  #checkLength(): void {
    if (this.#keptLength <= WORD_MAX) return;
    this.#position.problem('vcd-long', 0, {
      expected: `words of at most ${WORD_MAX} bytes`,
      got: 'a longer one',
      next: 'check that the file is not damaged; nothing behind this place is read',
    });
    this.#stop();
  }

  #declare(bytes: Uint8Array, length: number): number {
    const position = this.#position;
    let i = this.#bytes === length ? skipMark(bytes) : 0;
    while (i < length) {
      const c = bytes[i]!;
      if (c <= 32) {
        i += 1;
        if (c === 10) {
          position.line += 1;
          position.lineStart = position.base + i;
        } else if (!isSpace(c)) {
          this.#notText(i - 1, c);
          return i;
        }
        continue;
      }
      let j = i + 1;
      while (j < length && bytes[j]! > 32) j++;
      if (j === length) return i;
      const outcome = this.#declarations.word(bytes, i, j);
      i = j;
      if (outcome === 'stop') this.#stop();
      if (outcome === 'defined') this.#begin();
      if (outcome !== 'go on') return i;
    }
    return i;
  }

  #notText(index: number, byte: number): void {
    const code = this.#declarations.untouched ? 'not-vcd' : 'vcd-bytes';
    this.#position.problem(code, index, {
      expected: 'a value change dump as text',
      got: `byte 0x${byte.toString(16).padStart(2, '0')}`,
      next: 'check that the file is a value change dump, not compressed or damaged',
    });
    this.#stop();
  }

  #begin(): void {
    const declared = this.#declarations.result();
    this.#declared = declared;
    const watch = this.#options.follow(declared);
    if (watch === undefined) {
      this.done = true;
      return;
    }
    for (const index of watch.variables) {
      const variable = declared.variables[index];
      if (variable === undefined) throw new RangeError(`there is no variable ${index}`);
      if (variable.width > WIDTH_MAX) {
        throw new RangeError(`${variable.name} has ${variable.width} bits, more than ${WIDTH_MAX}`);
      }
    }
    const { codes, widths } = this.#declarations;
    const codeOf = (variable: number) => declared.variables[variable]!.code;
    this.#changes = new ChangeReader(this.#position, codes, widths, watch, codeOf);
  }

  #stop(): void {
    this.done = true;
    this.#stopped = true;
  }

  #end(): void {
    if (this.done) return;
    this.done = true;
    const word = plainText(this.#kept, 0, Math.min(this.#keptLength, 64));
    if (this.#changes !== undefined) {
      if (this.#keptLength > 0 && word !== '$end') this.#tellCut();
      return;
    }
    if (word === '$end') {
      const outcome = this.#declarations.word(this.#kept, 0, this.#keptLength);
      if (outcome === 'defined') {
        this.#begin();
        return;
      }
    }
    const empty = this.#declarations.untouched && this.#keptLength === 0;
    this.#position.problem(empty ? 'vcd-empty' : 'vcd-end', this.#keptLength, {
      expected: empty ? 'a value change dump' : '$enddefinitions $end',
      got: empty ? 'nothing but blanks' : 'the end of the file',
      next: empty ? 'check that this is the file you mean' : 'let the simulation run to its end',
    });
    this.#stopped = true;
  }

  #tellCut(): void {
    this.#position.notes.finding({
      id: 'vcd-cut',
      level: 'caution',
      subject: 'end of the file',
      message:
        `the file ends within a word at byte offset ${this.#position.base}, ` +
        `line ${this.#position.line}; the word is not used`,
      next: 'let the writer finish the file; everything before is read',
    });
  }

  #tell(): void {
    const { notes } = this.#position;
    if (this.#changes?.values.reduced) {
      notes.finding({
        id: 'vcd-values',
        level: 'ok',
        subject: 'values beyond 0, 1, x and z',
        message: 'values of nine-valued logic are read as To_X01Z of IEEE 1164 reduces them',
        next: 'nothing: h and l are 1 and 0, u, w and - are x',
      });
    }
    const { off = [], offCount = 0 } = this.#changes ?? {};
    if (offCount === 0) return;
    const [{ from, to } = { from: 0 }] = off;
    notes.finding({
      id: 'vcd-off',
      level: 'caution',
      subject: 'recording switched off',
      message:
        `the writer was switched off ${offCount === 1 ? 'once' : `${offCount} times`}, first from ` +
        `time ${from} to ${to ?? 'the end'}; what happened then is not in the file`,
      next: 'dump without $dumpoff, or use the spans by themselves',
    });
  }
}

/** Length of a byte order mark of UTF-8 at the beginning. */
function skipMark(bytes: Uint8Array): number {
  return bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
}
