/**
 * Output of the PCI utility of the Debian archive (package pciutils) cut into functions and blocks,
 * and rules that compare the text of a block, piece by piece, with decoded fields.
 */
import { execFileSync } from 'node:child_process';
import { registerOf } from '../../../src/insight/registers/index.ts';
import type { DecodedFunction, DecodedStructure } from '../../../src/model/dump.ts';

const tool = 'lspci';

/** Its version, or undefined where it is not installed. */
export function listerVersion(): string | undefined {
  try {
    return execFileSync(tool, ['--version'], { encoding: 'utf8' }).trim();
  } catch {
    return undefined;
  }
}

/** A header or capability as the utility shows it. */
export interface Block {
  /** Absent for the header. */
  readonly offset?: number;
  readonly extended: boolean;
  /** What stands behind the offset. */
  readonly title: string;
  readonly lines: string[];
}

export interface ListedFunction {
  readonly address: string;
  readonly heading: string;
  readonly blocks: Block[];
}

/** Runs the utility over a listing; numbers instead of names. */
export function list(path: string): ListedFunction[] {
  const text = execFileSync(tool, ['-n', '-D', '-vvv', '-F', path], {
    encoding: 'latin1',
    stdio: ['ignore', 'pipe', 'ignore'],
    maxBuffer: 2 ** 28,
    env: { ...process.env, LC_ALL: 'C' },
  });
  const functions: ListedFunction[] = [];
  for (const line of text.split('\n')) {
    if (line === '') continue;
    if (!line.startsWith('\t')) {
      const [address = '', ...rest] = line.split(' ');
      const header = { extended: false, title: '', lines: [] };
      functions.push({ address, heading: rest.join(' '), blocks: [header] });
      continue;
    }
    const blocks = functions.at(-1)!.blocks;
    const head = /^\tCapabilities: \[([0-9a-f]+)( v\d+)?\] (.*)$/.exec(line);
    if (head === null) {
      blocks.at(-1)!.lines.push(line.trim());
    } else {
      const [, offset = '', version, title = ''] = head;
      const extended = version !== undefined;
      blocks.push({ offset: Number.parseInt(offset, 16), extended, title, lines: [] });
    }
  }
  return functions;
}

/** Looks up fields of one structure. */
export class Fields {
  readonly structure: DecodedStructure;
  readonly fn: DecodedFunction;
  readonly instance: string | undefined;

  constructor(fn: DecodedFunction, structure: DecodedStructure, instance?: string) {
    this.fn = fn;
    this.structure = structure;
    this.instance = instance;
  }

  /** `Register/Field`, or one name for both. */
  at(path: string) {
    const slash = path.indexOf('/');
    const register = slash < 0 ? path : path.slice(0, slash);
    const field = path.slice(slash + 1);
    const found =
      registerOf(this.structure, register, this.instance) ?? registerOf(this.structure, register);
    const one = found?.fields.find((f) => f.name === field);
    if (one === undefined) throw new Error(`no field ${path} in ${this.structure.name}`);
    return one;
  }

  value(path: string): number {
    return this.at(path).value;
  }

  raw(register: string, instance = this.instance): number {
    const found = registerOf(this.structure, register, instance);
    if (found?.value === undefined) throw new Error(`no register ${register}`);
    return found.value;
  }
}

/** A piece of text, and what it must be for the fields as decoded. */
export interface Rule {
  readonly pattern: RegExp;
  readonly expected: (fields: Fields, match: RegExpExecArray) => string;
}

/** `name+` or `name-`. */
export function sign(name: string, path: string): Rule {
  const escaped = name.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&');
  return {
    pattern: new RegExp(`(?<![A-Za-z0-9_])${escaped}([+-])`),
    expected: (fields) => `${name}${fields.value(path) === 1 ? '+' : '-'}`,
  };
}

/** Signs by name and field. */
export function signs(register: string, list: Readonly<Record<string, string>>): Rule[] {
  return Object.entries(list).map(([name, field]) => sign(name, `${register}/${field}`));
}

/** Text made from the fields. */
export function text(
  pattern: RegExp,
  expected: (fields: Fields, match: RegExpExecArray) => string,
): Rule {
  return { pattern, expected };
}

/** Text that says no more than other pieces do; not compared. */
export function ignore(pattern: RegExp): Rule {
  return { pattern, expected: (_, match) => match[0] };
}

/** Lines that belong together: from one that `start` matches to the next group. */
export interface Group {
  readonly start: RegExp;
  readonly rules: readonly Rule[];
  /** Which of several alike the lines are of. */
  readonly instance?: (match: RegExpExecArray) => string;
}

export const hex = (value: number, digits: number) => value.toString(16).padStart(digits, '0');

/** Compares a block; every piece that differs, and text that no rule knows, becomes a line. */
export function compareBlock(
  fn: DecodedFunction,
  structure: DecodedStructure,
  title: readonly Rule[],
  groups: readonly Group[],
  block: Block,
): string[] {
  const faults: string[] = [];
  apply(block.title, title, new Fields(fn, structure), faults);
  let current: { group: Group; text: string; instance?: string } | undefined;
  const finish = () => {
    if (current === undefined) return;
    apply(current.text, current.group.rules, new Fields(fn, structure, current.instance), faults);
  };
  for (const line of block.lines) {
    const started = groups
      .map((group) => ({ group, match: group.start.exec(line) }))
      .find(({ match }) => match !== null);
    if (started !== undefined) {
      finish();
      const instance = started.group.instance?.(started.match!);
      current = { group: started.group, text: line, ...(instance !== undefined && { instance }) };
    } else if (current === undefined) {
      faults.push(`text that no rule knows: ${line}`);
    } else {
      current.text += ` ${line}`;
    }
  }
  finish();
  return faults;
}

/** What the fields say; a field that is missing is a difference like any other. */
function said(expected: Rule['expected'], fields: Fields, match: RegExpExecArray): string {
  try {
    return expected(fields, match);
  } catch (error) {
    return error instanceof Error ? error.message : `${error}`;
  }
}

function apply(whole: string, rules: readonly Rule[], fields: Fields, faults: string[]): void {
  let rest = whole;
  for (const { pattern, expected } of rules) {
    const match = pattern.exec(rest);
    if (match === null) continue;
    const wanted = said(expected, fields, match);
    if (wanted !== match[0]) {
      faults.push(`${fields.structure.name}: '${match[0]}' but the fields say '${wanted}'`);
    }
    rest = `${rest.slice(0, match.index)} ${rest.slice(match.index + match[0].length)}`;
  }
  if (/[^\s,;:/()\]-]/.test(rest)) faults.push(`text that no rule knows: '${rest}' of '${whole}'`);
}
