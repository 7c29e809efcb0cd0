/** Findings in print: what to act on as blocks, what holds as one table. */
import type { Finding } from '../../model/finding.ts';
import { cleanText } from '../clean.ts';
import { citation, type SourceList } from '../sources.ts';
import { basisWords, levelMeaning, levelsWorstFirst } from '../words.ts';
import type { PrintBlock, PrintTable } from './model.ts';

function clauseOf({ clause, basis }: Finding): string {
  return clause === '' ? basisWords[basis] : `${cleanText(clause)} (${basisWords[basis]})`;
}

function valuesOf(finding: Finding, sources: SourceList): PrintTable | null {
  if (finding.values.length === 0) return null;
  return {
    kind: 'table',
    caption: `Values of ${cleanText(finding.subject)}`,
    columns: [{ title: 'value', share: 3 }, { title: 'is', share: 3 }, { title: 'basis' }],
    rows: finding.values.map((v) => [cleanText(v.name), cleanText(v.text), citation(v, sources)]),
  };
}

function block(finding: Finding, sources: SourceList): PrintBlock {
  return {
    kind: 'finding',
    level: finding.level,
    subject: cleanText(finding.subject, '(unnamed)'),
    message: cleanText(finding.message),
    next: cleanText(finding.next),
    clause: `Rule ${cleanText(finding.id)}; ${clauseOf(finding)}`,
    values: valuesOf(finding, sources),
  };
}

function holding(findings: readonly Finding[], sources: SourceList): PrintTable {
  const rows = findings.map((f) => {
    const number = sources.number(f.clause);
    const values = f.values.map((v) => `${v.name}: ${v.text} (${citation(v, sources)})`);
    return [
      cleanText(`${f.subject || '(unnamed)'}. ${f.message} ${f.next}`),
      cleanText(values.join('; ')),
      cleanText(number === undefined ? `${f.id}; ${clauseOf(f)}` : `${f.id}, clause [${number}]`),
    ];
  });
  return {
    kind: 'table',
    caption: 'Rules that hold',
    columns: [
      { title: 'checked, with the result', share: 4 },
      { title: 'values', share: 4 },
      { title: 'rule', share: 2 },
    ],
    rows,
  };
}

/** The fit section's content, the worst level first. */
export function fitBlocks(findings: readonly Finding[], sources: SourceList): PrintBlock[] {
  if (findings.length === 0) return [{ kind: 'text', text: 'Nothing was checked.' }];
  return levelsWorstFirst.flatMap((level): PrintBlock[] => {
    const group = findings.filter((f) => f.level === level);
    if (group.length === 0) return [];
    const head = `${group.length} ${level}: ${levelMeaning[level]}`;
    const content =
      level === 'ok' ? [holding(group, sources)] : group.map((f) => block(f, sources));
    return [{ kind: 'heading', text: head }, ...content];
  });
}
