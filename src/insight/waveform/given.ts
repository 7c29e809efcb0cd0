/** Lines that the user names: `FRAME#=top.pci.frame_n`. */
import type { Problem } from '../../model/problem.ts';
import type { VcdVariable } from '../../readers/vcd/index.ts';
import { netOf, numberOf } from './candidates.ts';
import type { WaveformProblemCode } from './ids.ts';
import type { BitSource, LineSpec } from './lines.ts';

/** A line as named. */
export interface GivenLine {
  readonly spec: LineSpec;
  readonly sources: (BitSource | undefined)[];
  readonly low: boolean;
  readonly names: string[];
}

export interface GivenLines {
  readonly lines: ReadonlyMap<string, GivenLine>;
  readonly problems: readonly Problem[];
}

interface Target {
  readonly variable: number;
  /** Number of each line and bit from the right. */
  readonly bits: readonly (readonly [number, number])[];
}

/**
 * Reads `LINE=NAME` texts. LINE is that of a list, a `#` behind it saying that the recorded level is low
 * when asserted; `REQ#[2]` is one of several. NAME is scopes and name joined by dots, with bit numbers
 * in brackets where only some are meant.
 */
export function readGiven(
  variables: readonly VcdVariable[],
  specs: readonly LineSpec[],
  signals: readonly string[],
): GivenLines {
  const lines = new Map<string, GivenLine>();
  const problems: Problem[] = [];
  const problem = (index: number, said: Pick<Problem, 'expected' | 'got' | 'next'>) =>
    problems.push({
      code: 'signal-wish' satisfies WaveformProblemCode,
      place: { file: '--signal', line: index + 1, column: 1 },
      ...said,
    });
  for (const [index, text] of signals.entries()) {
    const equals = text.indexOf('=');
    const left = /^(.*?)(?:\[([0-9]{1,4})\])?$/s.exec(text.slice(0, Math.max(0, equals)).trim())!;
    const spec = equals < 0 ? undefined : specOf(specs, left[1]!);
    const number = left[2] === undefined ? undefined : Number(left[2]);
    if (spec === undefined || (number !== undefined && number >= spec.most)) {
      problem(index, {
        expected: `LINE=NAME with a line of ${specs.map((s) => s.id).join(', ')}`,
        got: `'${text}'`,
        next: `write for example ${specs.find((s) => s.needed && s.id !== 'CLK')!.id}=top.NAME`,
      });
      continue;
    }
    const name = text.slice(equals + 1).trim();
    const target = targetOf(variables, name, spec, number);
    if (typeof target === 'string') {
      problem(index, {
        expected: `a variable of the waveform for ${spec.id}`,
        got: `'${name}': ${target}`,
        next: 'write scopes and name joined by dots, as declared in the file',
      });
      continue;
    }
    const line = lines.get(spec.id) ?? {
      spec,
      sources: [],
      low: spec.active !== 'level' && left[1]!.endsWith('#'),
      names: [],
    };
    for (const [n, bit] of target.bits) line.sources[n] = { variable: target.variable, bit };
    line.names.push(name);
    lines.set(spec.id, { ...line, sources: Array.from(line.sources, (s) => s) });
  }
  return { lines, problems };
}

/** The line of that name, in any letters, with its `#` or without. */
function specOf(specs: readonly LineSpec[], written: string): LineSpec | undefined {
  const bare = (text: string) => text.replace(/#$/, '').toLowerCase();
  return specs.find((s) => bare(s.id) === bare(written));
}

/** The variable and bits of a name; a text that says why not. */
function targetOf(
  variables: readonly VcdVariable[],
  name: string,
  spec: LineSpec,
  number: number | undefined,
): Target | string {
  const path = (v: VcdVariable) => (v.scope === '' ? v.name : `${v.scope}.${v.name}`);
  let select: RegExpExecArray | null = null;
  let index = variables.findIndex((v) => netOf(v) === name || path(v) === name);
  const same = variables.filter((v) => path(v) === name);
  if (same.length > 1 && new Set(same.map((v) => v.code)).size > 1) {
    return gathered(variables, name, spec, path);
  }
  if (index < 0) {
    select = /^(.*)\[([0-9]{1,6})(?::([0-9]{1,6}))?\]$/s.exec(name);
    if (select) index = variables.findIndex((v) => path(v) === select![1]);
  }
  if (index < 0) return nearNames(variables, name);
  const v = variables[index]!;
  const chosen: number[] = [];
  for (let bit = 0; bit < v.width; bit += 1) {
    const n = numberOf(v, bit);
    const [high, low] = select ? [Number(select[2]), Number(select[3] ?? select[2])] : [n, n];
    if (n <= high && n >= low) chosen.push(bit);
  }
  if (chosen.length === 0) return `it has no bit [${select![2]}]`;
  if (number !== undefined || spec.most === 1) {
    if (chosen.length > 1) return `it has ${chosen.length} bits where one is meant`;
    return { variable: index, bits: [[number ?? 0, chosen[0]!]] };
  }
  // Bit numbers of the declaration count where they fit; otherwise lines are numbered from the right.
  const numbers = chosen.map((bit) => numberOf(v, bit));
  const fit = numbers.every((n) => n >= 0 && n < spec.most);
  if (!fit && chosen.length > spec.most)
    return `it has ${chosen.length} bits, more than ${spec.most}`;
  return { variable: index, bits: chosen.map((bit, i) => [fit ? numbers[i]! : i, bit]) };
}

/** A bus that was dumped bit by bit cannot be named as a whole here: say how. */
function gathered(
  variables: readonly VcdVariable[],
  name: string,
  spec: LineSpec,
  path: (v: VcdVariable) => string,
): string {
  const count = variables.filter((v) => path(v) === name).length;
  return `it names ${count} variables; name each, as ${spec.id}[0]=${name}[0]`;
}

function nearNames(variables: readonly VcdVariable[], name: string): string {
  const last = name
    .slice(name.lastIndexOf('.') + 1)
    .replace(/\[.*$/, '')
    .toLowerCase();
  const near = variables.filter((v) => v.name.toLowerCase() === last).map(netOf);
  if (near.length === 0) return 'there is none of that name';
  return `there is none of that name; there is ${[...new Set(near)].slice(0, 4).join(', ')}`;
}
