/** docs/defaults.md: the table of default ranges, written from the table itself. */
import { fileURLToPath } from 'node:url';
import { formatSize, formatTime } from '../../src/quantity/index.ts';
import type { DefaultContext, DefaultRow, Range } from '../../src/standards/default-row.ts';
import { defaultRows } from '../../src/standards/defaults.ts';

export const pageFile = fileURLToPath(new URL('../../docs/defaults.md', import.meta.url));

/** The links at which ranges that depend on the link are shown. */
const shown: readonly { readonly title: string; readonly context: DefaultContext }[] = [
  {
    title: '2.5 GT/s x4, 128 B',
    context: { generation: 1, width: 4, maxPayload: 128, readCompletionBoundary: 64 },
  },
  {
    title: '8 GT/s x8, 256 B',
    context: { generation: 3, width: 8, maxPayload: 256, readCompletionBoundary: 64 },
  },
];

function worded(row: DefaultRow, range: Range): string {
  const word = (value: number) => {
    if (row.unit === 'ps') return formatTime(value / 1e12);
    if (row.unit === 'bytes') return formatSize(value);
    if (row.unit === '0 or 1') return value === 1 ? 'yes' : 'no';
    return String(value);
  };
  if (range.low === range.high) return word(range.low);
  return `${word(range.low)} .. ${word(range.expected)} .. ${word(range.high)}`;
}

function line(id: string, row: DefaultRow): string {
  const ranges = shown.map(({ context }) => worded(row, row.range(context)));
  const basis = `${row.basis}: ${row.reference}`;
  return `| \`${id}\` | ${row.title} | ${ranges.join(' | ')} | ${basis} | ${row.ask} |`;
}

export function defaultsPage(): string {
  const rows: Readonly<Record<string, DefaultRow>> = defaultRows;
  const titles = shown.map(({ title }) => `at ${title}`).join(' | ');
  return `# Default ranges

Generated from \`src/standards\` by \`npm run defaults\`; do not edit. What neither the case nor a part says
is taken from here, as low .. expected .. high; a single value is taken as it stands. Where a range
decides an answer, the answer names it and repeats the question of the last column.

| key | what | ${titles} | basis and source | ask or measure |
|---|---|---|---|---|---|
${Object.entries(rows)
  .filter(([id]) => id !== 'stage_rate' && id !== 'path_clock')
  .map(([id, row]) => line(id, row))
  .join('\n')}
`;
}
