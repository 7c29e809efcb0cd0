/** Reads names of variables as names of lines (common practice, no source). */
import type { LineSpec } from './lines.ts';

/** How a name matches a line. */
export interface NameMatch {
  /** What stands in front: names of one interface share it. */
  readonly prefix: string;
  /** Number in the name: `req3_n`. */
  readonly index?: number;
  /** True where the name says that it is asserted when low: `_n`, `_l`, `_b`, `#`, `n`. */
  readonly low: boolean;
}

const lowWords = new Set(['n', 'l', 'b', 'x', 'neg', 'bar', 'low']);
/** What a port may say of its direction; outputs of a pad are no lines of a bus. */
const portWords = new Set(['i', 'in', 'io', 'inout', 'pad', 's']);
const streamWords = new Set([...portWords, 'o', 'out', 'm']);

/** Words of a name in small letters. */
export function wordsOf(name: string): string[] {
  const plain = name.toLowerCase().replaceAll('#', '_n_');
  return plain.split(/[^a-z0-9]+/).filter((w) => w !== '');
}

/** How `name` could be that of `spec`; undefined when it could not. */
export function matchName(name: readonly string[], spec: LineSpec): NameMatch | undefined {
  for (const stem of spec.stems) {
    const words = stem.split(' ');
    for (let at = 0; at + words.length <= name.length; at += 1) {
      const match = matchAt(name, at, words, spec);
      if (match !== undefined) return match;
    }
  }
  return undefined;
}

function matchAt(
  name: readonly string[],
  at: number,
  stem: readonly string[],
  spec: LineSpec,
): NameMatch | undefined {
  const last = stem.length - 1;
  for (let i = 0; i < last; i += 1) if (name[at + i] !== stem[i]) return undefined;
  const lead = last === 0 ? '(?:pci|p)?(n?)' : '()';
  const found = new RegExp(`^${lead}${stem[last]}([nlbx]?)([0-9]{0,2})([nlbx]?)$`).exec(
    name[at + last]!,
  );
  if (!found) return undefined;
  const [, before, mark, digits, behind] = found;
  let low = before !== '' || mark !== '' || behind !== '';
  let index = digits === '' ? undefined : Number(digits);
  const ports = spec.active === 'high' ? streamWords : portWords;
  for (const word of name.slice(at + stem.length)) {
    if (lowWords.has(word)) low = true;
    else if (/^[0-9]{1,2}$/.test(word) && index === undefined) index = Number(word);
    else if (!ports.has(word)) return undefined;
  }
  if (index !== undefined && (spec.most === 1 || index >= spec.most)) return undefined;
  if (low && spec.active === 'level' && spec.id !== 'C/BE#') return undefined;
  const prefix = name.slice(0, at).join('_');
  return { prefix, low, ...(index !== undefined && { index }) };
}

/** Names that are searched for, for people: `frame, frame_n, frame_l, …`. */
export function searchedFor(spec: LineSpec): string {
  const stems = spec.stems.map((s) => s.replaceAll(' ', '_'));
  const marks = spec.active === 'low' ? ['', '_n', '_l', '_b', '#'] : [''];
  return stems.flatMap((s) => marks.map((m) => s + m)).join(', ');
}
