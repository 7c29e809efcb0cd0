/**
 * The value changes of a value change dump (IEEE 1364-2005, 18.2: from memory), byte by byte. What is
 * not followed is scanned for its identifier code and no more.
 */
import { quoted } from '../notes.ts';
import type { CodeTable } from './codes.ts';
import { isEnd } from './declarations.ts';
import { isSpace, type Position, plainText, shown } from './place.ts';
import type { OffSpan, VcdWatch } from './types.ts';
import { isBit, VcdValues } from './values.ts';

/** Spans without recording that are kept; more are counted. */
const OFF_KEPT_MAX = 16;
const LAST_CODE_BYTE = 126;
const TIME_MAX = BigInt(Number.MAX_SAFE_INTEGER);
/** Longest text or real that is kept. */
const TEXT_MAX = 4096;

/** Commands that may stand among the changes; what they hold are changes as any. */
const dumps = new Set(['$dumpvars', '$dumpall', '$dumpon', '$dumpoff']);

export class ChangeReader {
  times = 0;
  changes = 0;
  first: number | undefined;
  last: number | undefined;
  stopped = false;
  readonly off: OffSpan[] = [];
  offCount = 0;
  readonly values: VcdValues;
  readonly #position: Position;
  readonly #codes: CodeTable;
  readonly #widths: readonly number[];
  readonly #watch: VcdWatch;
  /** Slot of each code; -1 where it is not followed. */
  readonly #slotOf: Int32Array;
  #skipping = false;
  #offFrom: number | undefined;

  constructor(
    position: Position,
    codes: CodeTable,
    widths: readonly number[],
    watch: VcdWatch,
    codeOf: (variable: number) => number,
  ) {
    this.#position = position;
    this.#codes = codes;
    this.#widths = widths;
    this.#watch = watch;
    this.#slotOf = new Int32Array(codes.count).fill(-1);
    const slotWidths: number[] = [];
    const slots = watch.variables.map((variable) => {
      const code = codeOf(variable);
      if (this.#slotOf[code]! < 0) {
        this.#slotOf[code] = slotWidths.length;
        slotWidths.push(Math.max(0, widths[code] ?? 0));
      }
      return this.#slotOf[code]!;
    });
    this.values = new VcdValues(slotWidths, slots);
  }

  /** Reads whole words of `b[from, n)`; returns the index of the first byte that is to come again. */
  scan(b: Uint8Array, from: number, n: number): number {
    const position = this.#position;
    const flat = this.#codes.flat;
    const known = flat.length;
    const slotOf = this.#slotOf;
    const values = this.values;
    let changes = 0;
    let i = from;
    while (i < n && !this.stopped) {
      const c = b[i]!;
      if (c === 10) {
        i += 1;
        position.line += 1;
        position.lineStart = position.base + i;
        continue;
      }
      if (c <= 32) {
        if (!isSpace(c)) this.#control(i, c);
        i += 1;
        continue;
      }
      if (!(c === 48 || c === 49 || c === 120 || c === 122) || this.#skipping) {
        const next = this.#word(b, i, n);
        if (next < 0) break;
        i = next;
        continue;
      }
      // A scalar: its value and at once its code.
      let j = i + 1;
      let key = 0;
      let over = 0;
      for (; j < n; j++) {
        const d = b[j]!;
        if (d <= 32) break;
        key = key * 94 + (d - 32);
        over |= LAST_CODE_BYTE - d;
      }
      if (j === n) break;
      const code =
        key < known && over >= 0 && j - i <= 9 ? flat[key]! : this.#codes.find(b, i + 1, j);
      changes += 1;
      if (code < 0) this.#noCode(b, i + 1, j);
      else {
        const slot = slotOf[code]!;
        if (slot >= 0) values.setBit(slot, c);
      }
      i = j;
    }
    this.changes += changes;
    return i;
  }

  /** Ends the last step. */
  finish(): void {
    this.#flush();
    this.#endOff();
  }

  /** A word that is no plain scalar. Returns the index behind it, or -1 when its end is not there. */
  #word(b: Uint8Array, i: number, n: number): number {
    let j = i + 1;
    while (j < n && b[j]! > 32) j++;
    if (j === n) return -1;
    const c = b[i]!;
    if (this.#skipping) {
      if (isEnd(b, i, j)) this.#skipping = false;
      return j;
    }
    if (c === 35) {
      this.#time(b, i, j);
      return j;
    }
    const kind = c | 32;
    if (kind === 98 || kind === 114 || kind === 115) return this.#valued(b, i, j, n, kind);
    if (c === 36) {
      this.#command(b, i, j);
      return j;
    }
    if (isBit(c) && j > i + 1) this.#scalar(b, i, j);
    else this.#noChange(b, i, j);
    return j;
  }

  /** A value, white space, a code: `b`, `r` or `s`. */
  #valued(b: Uint8Array, i: number, j: number, n: number, kind: number): number {
    let k = j;
    while (k < n && isSpace(b[k]!)) k++;
    let m = k;
    while (m < n && b[m]! > 32) m++;
    if (m === n) return -1;
    const code = this.#codes.find(b, k, m);
    this.changes += 1;
    if (code < 0) return this.#valueAlone(b, i, j, k, m);
    const slot = this.#slotOf[code]!;
    if (slot >= 0) {
      if (kind === 98) this.#vector(b, i, j, slot, code);
      else if (kind === 114) this.#real(b, i, j, slot, code);
      else if (j - i > TEXT_MAX) this.values.setText(slot, `${plainText(b, i + 1, i + TEXT_MAX)}…`);
      else this.values.setText(slot, plainText(b, i + 1, j));
    }
    this.#passLines(b, j, k);
    return m;
  }

  #passLines(b: Uint8Array, from: number, to: number): void {
    for (let i = from; i < to; i++) {
      if (b[i] !== 10) continue;
      this.#position.line += 1;
      this.#position.lineStart = this.#position.base + i + 1;
    }
  }

  /** The word behind a value is no code: on a line of its own it is read by itself. */
  #valueAlone(b: Uint8Array, i: number, j: number, k: number, m: number): number {
    let split = false;
    for (let at = j; at < k; at++) if (b[at] === 10) split = true;
    if (!split) {
      this.#noCode(b, k, m);
      return m;
    }
    this.#position.problem('vcd-code', i, {
      expected: 'an identifier code behind the value, on its line',
      got: `${shown(b, i, j)} alone`,
      next: 'write the file anew; the change is left out',
    });
    return j;
  }

  #scalar(b: Uint8Array, i: number, j: number): void {
    const code = this.#codes.find(b, i + 1, j);
    this.changes += 1;
    if (code < 0) {
      this.#noCode(b, i + 1, j);
      return;
    }
    const slot = this.#slotOf[code]!;
    if (slot >= 0) this.values.setBit(slot, b[i]!);
  }

  #vector(b: Uint8Array, i: number, j: number, slot: number, code: number): void {
    const width = this.#widths[code]!;
    if (width > 0 && this.values.setVector(slot, b, i + 1, j)) return;
    this.values.forget(slot);
    const long = j - i - 1 > width;
    this.#position.problem(long ? 'vcd-width' : 'vcd-value', i, {
      expected: width > 0 ? `up to ${width} characters of 0, 1, x and z` : 'a value of its kind',
      got: long ? `${j - i - 1} characters` : shown(b, i, j),
      next: 'write the file anew; the variable is unknown until its next change',
    });
  }

  #real(b: Uint8Array, i: number, j: number, slot: number, code: number): void {
    const text = j - i > 64 ? '' : plainText(b, i + 1, j);
    const number = /^[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?$/.test(text);
    const special = /^[+-]?(?:nan|inf(?:inity)?)$/i.test(text);
    if (this.#widths[code] === 0 && (number || special)) {
      this.values.setReal(slot, number ? Number(text) : specialReal(text));
      return;
    }
    this.values.forget(slot);
    this.#position.problem('vcd-value', i, {
      expected: this.#widths[code] === 0 ? 'a real number' : 'a value of 0, 1, x and z',
      got: shown(b, i, j),
      next: 'write the file anew; the variable is unknown until its next change',
    });
  }

  #time(b: Uint8Array, i: number, j: number): void {
    let time = 0;
    let good = j > i + 1;
    for (let at = i + 1; at < j; at++) {
      const digit = b[at]! - 48;
      if (digit < 0 || digit > 9) good = false;
      time = time * 10 + digit;
    }
    if (!good) {
      this.#stop('vcd-time', i, {
        expected: "a time: '#' and decimal digits",
        got: shown(b, i, j),
        next: 'write the file anew; nothing behind this place is read, as its time is unknown',
      });
      return;
    }
    if (time > Number.MAX_SAFE_INTEGER) {
      this.#stop('vcd-time-range', i, {
        expected: `a time of at most ${TIME_MAX} units`,
        got: shown(b, i, j),
        next: 'dump with a coarser $timescale; nothing behind this place is read',
      });
      return;
    }
    this.#advance(time, i);
  }

  #advance(time: number, i: number): void {
    if (this.last === undefined) {
      this.first = time;
      this.last = time;
      this.times = 1;
      return;
    }
    if (time === this.last) return;
    if (time < this.last) {
      this.#stop('vcd-time-order', i, {
        expected: `a time of ${this.last} or more`,
        got: `${time}`,
        next: 'dump one run into one file; nothing behind this place is read',
      });
      return;
    }
    this.#flush();
    this.last = time;
    this.times += 1;
  }

  #flush(): void {
    const { values } = this;
    if (values.changedCount === 0) return;
    this.#watch.step(this.last ?? 0, values);
    values.settle();
  }

  #command(b: Uint8Array, i: number, j: number): void {
    const word = plainText(b, i, Math.min(j, i + 32));
    if (word === '$end') return;
    if (word === '$comment') {
      this.#skipping = true;
      return;
    }
    if (dumps.has(word)) {
      if (word === '$dumpoff') this.#beginOff();
      else if (word === '$dumpon') this.#endOff(this.last);
      return;
    }
    if (/^\$(?:dumpports|vcdclose)/.test(word)) {
      this.#stop('vcd-extended', i, {
        expected: 'a four-state value change dump',
        got: `'${word}' of the extended format`,
        next: 'dump with $dumpvars instead of $dumpports',
      });
      return;
    }
    this.#skipping = true;
    this.#position.problem('vcd-command', i, {
      expected: '$dumpvars, $dumpall, $dumpon, $dumpoff or $comment',
      got: quoted(word),
      next: "remove it; everything up to the next '$end' is left out",
    });
  }

  #beginOff(): void {
    if (this.#offFrom !== undefined) return;
    this.#flush();
    this.#offFrom = this.last ?? 0;
    this.#watch.off?.(this.#offFrom);
  }

  #endOff(to?: number): void {
    if (this.#offFrom === undefined) return;
    this.offCount += 1;
    const span = to === undefined ? { from: this.#offFrom } : { from: this.#offFrom, to };
    if (this.off.length < OFF_KEPT_MAX) this.off.push(span);
    this.#offFrom = undefined;
  }

  #noCode(b: Uint8Array, from: number, to: number): void {
    this.#position.problem('vcd-code', from, {
      expected: 'an identifier code that was declared',
      got: from === to ? 'no code behind the value' : shown(b, from, to),
      next: 'write the file anew; the change is left out',
    });
  }

  #noChange(b: Uint8Array, from: number, to: number): void {
    const port = b[from] === 112;
    this.#position.problem(port ? 'vcd-extended' : 'vcd-change', from, {
      expected: port ? 'a four-state value change' : "a time, a value change or '$end'",
      got: shown(b, from, to),
      next: port
        ? 'dump with $dumpvars instead of $dumpports; the word is left out'
        : 'write the file anew; the word is left out',
    });
  }

  #control(index: number, byte: number): void {
    this.#position.problem('vcd-bytes', index, {
      expected: 'printable text',
      got: `byte 0x${byte.toString(16).padStart(2, '0')}`,
      next: 'check that the file is not compressed or damaged; it is read as a space',
    });
  }

  #stop(...[code, index, complaint]: Parameters<Position['problem']>): void {
    this.#position.problem(code, index, complaint);
    this.stopped = true;
  }
}

function specialReal(text: string): number {
  if (/nan/i.test(text)) return Number.NaN;
  return text.startsWith('-') ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
}
