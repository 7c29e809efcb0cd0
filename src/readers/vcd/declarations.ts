/** The declaration commands of a value change dump (IEEE 1364-2005, 18.2.3: from memory). */
import { type Rational, rational } from '../../quantity/index.ts';
import { Utf8Decoder } from '../utf8.ts';
import { CodeTable } from './codes.ts';
import { type Position, plainText, shown } from './place.ts';
import type { BitRange, VcdDeclarations, VcdVariable } from './types.ts';

/** Most variables of a file; each takes memory. */
export const VARIABLES_MAX = 1_000_000;
/** Most bits of a variable that are believed. */
const DECLARED_WIDTH_MAX = 16_777_216;
/** Words of a command that are kept; a comment may have more. */
const WORDS_MAX = 64;
/** Most scopes within each other. */
const DEPTH_MAX = 1000;

const texts = new Set(['$comment', '$date', '$version']);
const commands = new Set([
  ...['$comment', '$date', '$version', '$timescale'],
  ...['$scope', '$upscope', '$var', '$enddefinitions'],
]);
/** Commands whose words can be none of these: an `$end` is missing where one is met. */
const openers = new Set(['$scope', '$upscope', '$var', '$enddefinitions', '$timescale']);

const units: Readonly<Record<string, bigint>> = {
  s: 1n,
  ms: 10n ** 3n,
  us: 10n ** 6n,
  ns: 10n ** 9n,
  ps: 10n ** 12n,
  fs: 10n ** 15n,
};

/** What became of the file after a word. */
export type Outcome = 'go on' | 'defined' | 'stop';

/** Reads word by word up to the `$end` of `$enddefinitions`. */
export class DeclarationReader {
  readonly codes = new CodeTable();
  /** Bits of each code as first declared; 0 for a real, -1 for a text. */
  readonly widths: number[] = [];
  readonly #position: Position;
  readonly #variables: VcdVariable[] = [];
  readonly #scopes: string[] = [];
  #scope = '';
  #command = '';
  #commandAt = 0;
  #words: string[] = [];
  #left = 0;
  #codeAt = -1;
  #date: string | undefined;
  #version: string | undefined;
  #timescale: Rational | undefined;
  #unread = 0;
  #touched = false;

  constructor(position: Position) {
    this.#position = position;
  }

  /** True before the first command. */
  get untouched(): boolean {
    return !this.#touched;
  }

  /** The word in `bytes[from, to)`. */
  word(bytes: Uint8Array, from: number, to: number): Outcome {
    if (this.#command === '') return this.#open(bytes, from, to);
    if (isEnd(bytes, from, to)) return this.#close(from);
    if (bytes[from] === 36 && !texts.has(this.#command)) {
      const word = plainText(bytes, from, Math.min(to, from + 32));
      if (openers.has(word)) {
        this.#position.problem('vcd-end', from, {
          expected: `'$end' of ${this.#command}`,
          got: `'${word}'`,
          next: `close the command at byte offset ${this.#commandAt}; it is left out`,
        });
        this.#command = '';
        return this.#open(bytes, from, to);
      }
    }
    if (this.#words.length >= WORDS_MAX) {
      this.#left += 1;
      return 'go on';
    }
    if (this.#command === '$var' && this.#words.length === 2) {
      this.#codeAt = this.codes.add(bytes, from, to);
    }
    this.#words.push(textOf(bytes, from, to));
    return 'go on';
  }

  /** What was declared. */
  result(): VcdDeclarations {
    return {
      ...(this.#date !== undefined && { date: this.#date }),
      ...(this.#version !== undefined && { version: this.#version }),
      ...(this.#timescale !== undefined && { timescale: this.#timescale }),
      variables: this.#variables,
    };
  }

  /** Tells what was left out, once. */
  tell(): void {
    if (this.#unread === 0) return;
    this.#position.notes.finding({
      id: 'vcd-unread',
      level: 'ok',
      subject: 'commands of the writer’s own',
      message: `${this.#unread} declaration commands that the standard does not have were skipped`,
      next: 'nothing: they carry no values',
    });
  }

  #open(bytes: Uint8Array, from: number, to: number): Outcome {
    const word = plainText(bytes, from, Math.min(to, from + 64));
    if (bytes[from] !== 36 || word === '$end') return this.#stray(bytes, from, to);
    if (word === '$dumpports' || word === '$vcdclose') return this.#extended(from, word);
    this.#touched = true;
    this.#commandAt = this.#position.base + from;
    this.#command = word;
    this.#words = [];
    this.#left = 0;
    this.#codeAt = -1;
    if (!commands.has(word)) this.#unread += 1;
    return 'go on';
  }

  #extended(from: number, word: string): Outcome {
    this.#position.problem('vcd-extended', from, {
      expected: 'a four-state value change dump',
      got: `'${word}' of the extended format`,
      next: 'dump with $dumpvars instead of $dumpports',
    });
    return 'stop';
  }

  #stray(bytes: Uint8Array, from: number, to: number): Outcome {
    const first = this.untouched;
    const hash = bytes[from] === 35;
    this.#position.problem(first ? 'not-vcd' : hash ? 'vcd-end' : 'vcd-command', from, {
      expected: first ? "a declaration that begins with '$'" : 'a declaration, or $enddefinitions',
      got: shown(bytes, from, to),
      next: first
        ? 'check that this is a value change dump, not compressed'
        : hash
          ? 'add $enddefinitions $end in front of the first time'
          : 'remove the word; it is left out',
    });
    return first || hash ? 'stop' : 'go on';
  }

  #close(from: number): Outcome {
    const command = this.#command;
    const words = this.#words;
    this.#command = '';
    switch (command) {
      case '$date':
        this.#date = this.#kept(words);
        return 'go on';
      case '$version':
        this.#version = this.#kept(words);
        return 'go on';
      case '$timescale':
        this.#setTimescale(words, from);
        return 'go on';
      case '$scope':
        return this.#enter(words, from);
      case '$upscope':
        return this.#leave(from);
      case '$var':
        return this.#declare(words, from);
      case '$enddefinitions':
        return 'defined';
      default:
        return 'go on';
    }
  }

  #kept(words: readonly string[]): string {
    return words.join(' ') + (this.#left > 0 ? ' …' : '');
  }

  #setTimescale(words: readonly string[], from: number): void {
    const found = /^(1|10|100)(s|ms|us|ns|ps|fs)$/.exec(words.join(''));
    if (found) {
      this.#timescale = rational(BigInt(found[1]!), units[found[2]!]!);
      return;
    }
    this.#position.problem('vcd-timescale', from, {
      expected: '1, 10 or 100 and s, ms, us, ns, ps or fs',
      got: words.length === 0 ? 'nothing' : `'${words.join(' ').slice(0, 40)}'`,
      next: 'correct $timescale; without it there are clocks, but no times and rates',
    });
  }

  #enter(words: readonly string[], from: number): Outcome {
    const name = words.length > 1 ? unescaped(words.slice(1).join(' ')) : undefined;
    if (name === undefined) {
      this.#position.problem('vcd-scope', from, {
        expected: 'kind and name of a scope',
        got: words.length === 0 ? 'nothing' : `'${words[0]}'`,
        next: 'write $scope module NAME $end; the scope is read as nameless',
      });
    }
    this.#scopes.push(name ?? '');
    this.#scope = this.#scopes.filter((s) => s !== '').join('.');
    return this.#scopes.length > DEPTH_MAX ? this.#tooMany(from, 'scopes') : 'go on';
  }

  #leave(from: number): Outcome {
    if (this.#scopes.pop() === undefined) {
      this.#position.problem('vcd-scope', from, {
        expected: 'a scope to leave',
        got: 'an $upscope at the top',
        next: 'remove it; it is left out',
      });
    }
    this.#scope = this.#scopes.filter((s) => s !== '').join('.');
    return 'go on';
  }

  #declare(words: readonly string[], from: number): Outcome {
    const [type = '', size = '', , ...rest] = words;
    const text = type === 'string';
    const width = /^[0-9]{1,9}$/.test(size) ? Number(size) : -1;
    const fits = width >= (text ? 0 : 1) && width <= DECLARED_WIDTH_MAX;
    if (rest.length === 0 || this.#codeAt < 0 || !fits) {
      this.#position.problem('vcd-var', from, {
        expected: 'a variable: kind, bits from 1, identifier code, name',
        got: `'${words.join(' ').slice(0, 60)}'`,
        next: 'write $var wire 1 ! name $end; the variable is left out',
      });
      return 'go on';
    }
    if (this.#variables.length >= VARIABLES_MAX) return this.#tooMany(from, 'variables');
    const stored = text ? -1 : /^real(time)?$/.test(type) ? 0 : width;
    this.widths[this.#codeAt] ??= stored;
    if (this.widths[this.#codeAt] !== stored) {
      this.#position.problem('vcd-width', from, {
        expected: `the ${this.widths[this.#codeAt]} bits that its identifier code has already`,
        got: `${width} bits`,
        next: 'give it a code of its own; it is read with the bits declared first',
      });
    }
    this.#variables.push(this.#variable(type, width, rest));
    return 'go on';
  }

  #variable(type: string, width: number, rest: readonly string[]): VcdVariable {
    const written = rest.join(' ');
    const escaped = written.startsWith('\\');
    // Behind an escaped name bit numbers are a word of their own; `\a[3]` is all name.
    const pattern = escaped ? /^(.*?) +\[([^[]*)\]$/s : /^(.*?) *\[([^[]*)\]$/s;
    const parts = pattern.exec(written);
    const range = parts ? rangeOf(parts[2]!) : undefined;
    const name = unescaped(parts && range && parts[1] !== '' ? parts[1]! : written);
    return {
      type,
      width,
      code: this.#codeAt,
      scope: this.#scope,
      name,
      escaped,
      ...(range && { range }),
    };
  }

  #tooMany(from: number, what: string): Outcome {
    this.#position.problem('vcd-many', from, {
      expected: `at most ${what === 'scopes' ? DEPTH_MAX : VARIABLES_MAX} ${what}`,
      got: 'more',
      next: 'dump fewer scopes: only the interface is needed',
    });
    return 'stop';
  }
}

function rangeOf(text: string): BitRange | undefined {
  const found = /^ *(-?[0-9]{1,9}) *(?:: *(-?[0-9]{1,9}) *)?$/.exec(text);
  if (!found) return undefined;
  const left = Number(found[1]);
  return { left, right: found[2] === undefined ? left : Number(found[2]) };
}

function unescaped(name: string): string {
  return name.startsWith('\\') ? name.slice(1) : name;
}

/** True of the word `$end`. */
export function isEnd(bytes: Uint8Array, from: number, to: number): boolean {
  return (
    to - from === 4 &&
    bytes[from] === 36 &&
    bytes[from + 1] === 101 &&
    bytes[from + 2] === 110 &&
    bytes[from + 3] === 100
  );
}

/** A word as text: UTF-8, with U+FFFD for what is none. */
function textOf(bytes: Uint8Array, from: number, to: number): string {
  for (let i = from; i < to; i++) {
    if (bytes[i]! < 128) continue;
    const decoder = new Utf8Decoder();
    return decoder.decode(bytes.subarray(from, to)).text + decoder.end().text;
  }
  return to - from > 4096
    ? plainText(bytes, from, to)
    : String.fromCharCode(...bytes.subarray(from, to));
}
