/** Which variables could be which lines, by their names. */
import type { VcdVariable } from '../../readers/vcd/index.ts';
import type { LineSpec } from './lines.ts';
import { matchName, wordsOf } from './names.ts';

/** A variable that could be a line, or several numbered ones. */
export interface Candidate {
  readonly spec: LineSpec;
  readonly variable: number;
  readonly scope: string;
  /** Interface it would belong to: scope and what stands in front of the name, `top.pci` or `top/s_axis`. */
  readonly group: string;
  /** Number of each line, and the bit that it is, counted from the right. */
  readonly bits: readonly (readonly [number: number, bit: number])[];
  /** The name says that it is low when asserted. */
  readonly low: boolean;
}

/** All candidates, in the order of the file; in `scope` and within it where one is given. */
export function candidatesOf(
  variables: readonly VcdVariable[],
  specs: readonly LineSpec[],
  scope?: string,
): Candidate[] {
  const found: Candidate[] = [];
  for (const [index, v] of variables.entries()) {
    if (scope !== undefined && v.scope !== scope && !v.scope.startsWith(`${scope}.`)) continue;
    if (v.type === 'real' || v.type === 'realtime' || v.type === 'string') continue;
    if (v.type === 'parameter' || v.type === 'event') continue;
    const words = wordsOf(v.name);
    for (const spec of specs) {
      const match = matchName(words, spec);
      if (match === undefined) continue;
      const bits = bitsOf(v, spec, match.index);
      if (bits === undefined) continue;
      const group = match.prefix === '' ? v.scope : `${v.scope}/${match.prefix}`;
      found.push({ spec, variable: index, scope: v.scope, group, bits, low: match.low });
      break;
    }
  }
  return found;
}

/** Number and bit of each line that a variable holds; undefined when it is too wide for them. */
function bitsOf(
  v: VcdVariable,
  spec: LineSpec,
  index: number | undefined,
): (readonly [number, number])[] | undefined {
  if (spec.most === 1) return v.width === 1 ? [[0, 0]] : undefined;
  if (index !== undefined) return v.width === 1 ? [[index, 0]] : undefined;
  const bits: (readonly [number, number])[] = [];
  for (let bit = 0; bit < v.width; bit += 1) {
    const number = numberOf(v, bit);
    if (number < 0 || number >= spec.most) return undefined;
    bits.push([number, bit]);
  }
  return bits;
}

/** Number that a declaration gives to a bit, counted from the right. */
export function numberOf({ range }: VcdVariable, bit: number): number {
  if (range === undefined) return bit;
  return range.left >= range.right ? range.right + bit : range.right - bit;
}

/** Scope and name of a variable, with its bit numbers. */
export function netOf({ scope, name, range }: VcdVariable): string {
  const bits =
    range === undefined
      ? ''
      : range.left === range.right
        ? `[${range.left}]`
        : `[${range.left}:${range.right}]`;
  return `${scope === '' ? '' : `${scope}.`}${name}${bits}`;
}

/** Names of candidates, a few of them. */
export function describeCandidates(
  variables: readonly VcdVariable[],
  own: readonly Candidate[],
): string {
  const names = [...new Set(own.map((c) => netOf(variables[c.variable]!)))];
  const more = names.length > 6 ? ` and ${names.length - 6} more` : '';
  return names.slice(0, 6).join(', ') + more;
}
