/** Numbers and tables of the page. Rates are in MB/s, 10^6 bytes a second. */
import { errorOf, isSound, type Result, type Summary } from './results.ts';

/** A Markdown table; a column of numbers and dashes alone is aligned to the right. */
export function markdownTable(head: readonly string[], rows: readonly (readonly string[])[]) {
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  const isNumber = (text = '') => /^(?:[−+]?\d[\d.]*(?: [%†])?|[–†])$/.test(text);
  const rule = head.map((_, i) => (rows.every((row) => isNumber(row[i])) ? '--:' : '---'));
  return [line(head), line(rule), ...rows.map(line)].join('\n');
}

/** Bytes per second as MB/s in whole numbers, one decimal below 100. */
export function megabytes(rate: number): string {
  const value = rate / 1e6;
  return value < 100 ? value.toFixed(1) : value.toFixed(0);
}

/** `+4.8 %`, with a true minus sign. */
export function signed(fraction: number): string {
  const text = Math.abs(fraction * 100).toFixed(1);
  if (text === '0.0') return '0.0 %';
  return `${fraction < 0 ? '−' : '+'}${text} %`;
}

export function percent(fraction: number, digits = 0): string {
  return `${(fraction * 100).toFixed(digits)} %`;
}

const columns = [
  'row',
  'measured',
  'ceiling',
  'low',
  'expected',
  'high',
  'error',
  'inside',
  'binding limit at expected',
];

/** The rows of one system. */
export function rowTable(results: readonly Result[]): string {
  return markdownTable(columns, results.map(cellsOf));
}

function cellsOf(r: Result): string[] {
  const sound = isSound(r);
  const inside = { within: 'yes', 'above expectation': 'above', 'below expectation': 'below' };
  return [
    r.title,
    megabytes(r.measured) + (sound ? '' : ' †'),
    ...[r.ceiling, r.low, r.expected, r.high].map(megabytes),
    sound ? signed(errorOf(r)) : '†',
    r.standing === 'impossible as stated' ? '†' : inside[r.standing],
    r.bound,
  ];
}

/** One line a group: what the sound rows say. */
export function summaryTable(groups: readonly (readonly [string, Summary])[]): string {
  const head = [
    'rows',
    'median \\|error\\|',
    'worst error',
    'inside',
    'mean width',
    'impossible †',
  ];
  const lines = groups.map(([name, { rows, impossible, sound }]) => [
    name,
    String(rows),
    sound ? percent(sound.median, 1) : '–',
    sound ? signed(errorOf(sound.worst)) : '–',
    sound ? percent(sound.inside) : '–',
    sound ? percent(sound.width) : '–',
    String(impossible),
  ]);
  return markdownTable(['system', ...head], lines);
}
