/** Help with units that are misspelt, missing, or of another dimension than the one wanted. */
import { type Dimension, dimensions } from './dimension.ts';
import { spellings, type UnitMeaning } from './units.ts';

/** Written often, and nearer to what is meant than edit distance can tell. */
const habits: readonly {
  readonly written: RegExp;
  readonly meant: (m: RegExpExecArray) => string;
}[] = [
  { written: /^K(B|b|bit)(\/s)?$/, meant: ([, u, s = '']) => `k${u}${s} or Ki${u}${s}` },
  { written: /^([kMGT]i?)bps$/, meant: ([, p]) => `${p}bit/s` },
  { written: /^([kMGT]i?)Bps$/, meant: ([, p]) => `${p}B/s` },
  { written: /^bps$/, meant: () => 'bit/s' },
  { written: /^([kMG])T$/, meant: ([, p]) => `${p}T/s` },
  { written: /^([kMGT])(?:sps|SPS|Sps|S)$/, meant: ([, p]) => `${p}S/s` },
  { written: /^([kMGT]?i?)(?:[Bb]ytes?)(\/s)?$/, meant: ([, p, s = '']) => `${p}B${s}` },
  { written: /^([kMGT]?i?)(?:[Bb]its)(\/s)?$/, meant: ([, p, s = '']) => `${p}bit${s}` },
  { written: /^(?:C|c|°|℃|deg|degc|celsius|Celsius)$/, meant: () => 'degC' },
  { written: /^(?:C|°)\/W$/, meant: () => 'degC/W' },
  { written: /^(?:sec|secs|seconds?)$/, meant: () => 's' },
  { written: /^(?:msec|usec|µsec|nsec)$/, meant: ([w = '']) => w.slice(0, 2) },
  { written: /^(?:percent|pct)$/, meant: () => '%' },
  { written: /^(?:[Vv]olts?)$/, meant: () => 'V' },
  { written: /^(?:[Aa]mps?|[Aa]mperes?)$/, meant: () => 'A' },
  { written: /^(?:[Ww]atts?)$/, meant: () => 'W' },
];

/** The accepted spellings nearest to `unit`, for a message: `MB/s or Mb/s`; empty when none is. */
export function nearestSpellings(unit: string, wanted: readonly Dimension[] | undefined): string {
  for (const { written, meant } of habits) {
    const match = written.exec(unit);
    if (match !== null) return meant(match);
  }
  const open = [...spellings]
    .filter(([spelling, meanings]) => spelling !== '' && isWanted(meanings, wanted))
    .map(([spelling]) => spelling);
  const sameLetters = open.filter((s) => s.toLowerCase() === unit.toLowerCase());
  if (sameLetters.length > 0) return sameLetters.join(' or ');
  const near = closest(unit, open);
  if (near.length > 0) return near.join(' or ');
  return wanted === undefined ? '' : nearestSpellings(unit, undefined);
}

function isWanted(meanings: readonly UnitMeaning[], wanted: readonly Dimension[] | undefined) {
  return wanted === undefined || meanings.some((m) => wanted.includes(m.dimension));
}

/** At most two spellings one slip away; two slips away for longer ones. */
function closest(unit: string, open: readonly string[]): readonly string[] {
  const limit = unit.length >= 5 ? 2 : unit.length >= 2 ? 1 : 0;
  for (let distance = 1; distance <= limit; distance += 1) {
    const near = open.filter((s) => s.length >= 2 && slips(unit, s) === distance);
    if (near.length > 0) return near.slice(0, 2);
  }
  return [];
}

/** Letters to insert, drop, change or swap with a neighbour: optimal string alignment distance. */
export function slips(a: string, b: string): number {
  let before: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i += 1) {
    const row = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const change = a[i - 1] === b[j - 1] ? 0 : 1;
      let best = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + change);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        best = Math.min(best, before[j - 2]! + 1);
      }
      row.push(best);
    }
    before = last;
    last = row;
  }
  return last[b.length]!;
}

/** `a size or a time`; `a quantity` when anything will do. */
export function nounOf(wanted: readonly Dimension[] | undefined): string {
  if (wanted === undefined || wanted.length === 0) return 'a quantity';
  return wanted.map((d) => dimensions[d].noun).join(' or ');
}

/** `a unit of size or time`; `a number without a unit` where only that will do. */
export function unitNounOf(wanted: readonly Dimension[] | undefined): string {
  if (wanted === undefined || wanted.length === 0) return 'a unit';
  const named = wanted.filter((d) => d !== 'count');
  const alternatives = named.length < wanted.length ? ['a number without a unit'] : [];
  if (named.length > 0) alternatives.unshift(`a unit of ${named.join(' or ')}`);
  return alternatives.join(', or ');
}

/** `write a size, such as 4 KiB or 128 B`. */
export function adviceFor(wanted: readonly Dimension[] | undefined): string {
  const first = wanted?.[0] ?? 'data rate';
  return `write ${dimensions[first].noun}, such as ${dimensions[first].example}`;
}

/** Pairs that are easily taken for one another, and what tells them apart. */
const mixedUp: Partial<Record<Dimension, Partial<Record<Dimension, string>>>> = {
  'data rate': {
    'transfer rate':
      'T/s counts line bits of one lane before the line code is taken off; write the data rate ' +
      'in MB/s or Gbit/s',
    'symbol rate':
      'baud counts line symbols before the line code is taken off; write the data rate in MB/s ' +
      'or Gbit/s',
    size: 'a rate is a size per second: add /s',
  },
  'transfer rate': {
    'data rate': 'line rate of one lane, coding included, is written in GT/s, such as 2.5 GT/s',
    'symbol rate': 'line rate of one lane is written in GT/s here, such as 2.5 GT/s',
  },
  'symbol rate': {
    'data rate': 'line rate, coding included, is written in GBd, such as 3.125 GBd',
    'transfer rate': 'line rate is written in GBd here, such as 3.125 GBd',
  },
  size: { 'data rate': 'a size has no /s' },
  time: { frequency: 'write the period, such as 10 ns for 100 MHz' },
  frequency: { time: 'write the frequency, such as 100 MHz for a period of 10 ns' },
  power: {
    current: 'multiply by the supply voltage and write watts',
  },
  current: {
    power: 'divide by the supply voltage and write amperes',
  },
};

/** What to do about a quantity of dimension `got` where one of `wanted` belongs. */
export function mixUpAdvice(wanted: readonly Dimension[], got: Dimension): string {
  for (const dimension of wanted) {
    const advice = mixedUp[dimension]?.[got];
    if (advice !== undefined) return advice;
  }
  return adviceFor(wanted);
}
