/** Two dumps of one path, as text. */
import type { DumpComparison, PathDifference, RateCost } from '../../model/diagnosis.ts';
import { formatRate } from '../../quantity/index.ts';
import type { DiagnosisLook } from './diagnosis.ts';
import { Page, plain } from './page.ts';

const kinds = { write: 'writes', read: 'reads' } as const;

function change({ kind, asFound, without }: RateCost): string {
  return `${kinds[kind]} ${formatRate(asFound)} to ${formatRate(without)}`;
}

function effect({ costs, notPriced }: PathDifference): string {
  if (notPriced !== undefined) return `not priced: ${notPriced}`;
  return costs.length === 0 ? 'no rate at expected values' : costs.map(change).join('; ');
}

/** The comparison as plain text. */
export function dumpComparisonText(document: DumpComparison, look: DiagnosisLook = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  const { first, second, differences } = document;
  page.heading(`${first.file} against ${second.file}`);
  for (const [word, side] of [
    ['first', first],
    ['second', second],
  ] as const) {
    const { rates } = side;
    const rated =
      rates === undefined
        ? 'not rated'
        : `${formatRate(rates.write)} of writes, or ${formatRate(rates.read)} of reads`;
    page.labelled(word, `${side.file}, ${side.function}: ${rated}`, 0, 6);
  }
  page.space();
  if (differences.length === 0)
    page.paragraph('nothing on the path differs that acts on a transfer');
  else {
    const columns = [
      { title: 'setting', least: 14 },
      { title: 'where', least: 10 },
      { title: 'first', least: 8 },
      { title: 'second', least: 8 },
      { title: 'as in the second', least: 18 },
    ];
    const rows = differences.map((d) => [
      d.setting,
      d.where,
      d.first.text,
      d.second.text,
      effect(d),
    ]);
    page.table(columns, rows);
  }
  if (document.notCompared.length > 0) page.heading('Not compared');
  for (const text of document.notCompared) page.item(text);
  return page.text();
}
