/** Findings as text: what to act on in full, what holds in short. */
import type { Finding } from '../../model/finding.ts';
import { cleanText } from '../clean.ts';
import { citation, type SourceList } from '../sources.ts';
import { basisWords, levelMeaning, levelsWorstFirst } from '../words.ts';
import type { Page } from './page.ts';

const label = 8;

function clauseText(finding: Finding): string {
  const clause = cleanText(finding.clause);
  return clause === '' ? basisWords[finding.basis] : `${clause} (${basisWords[finding.basis]})`;
}

function writeFinding(page: Page, finding: Finding, sources: SourceList): void {
  page.space();
  page.labelled(finding.level, cleanText(finding.subject, '(unnamed)'), 2, label, finding.level);
  const indent = 2 + label + 2;
  page.paragraph(finding.message, indent);
  if (finding.values.length > 0) {
    page.table(
      [
        { title: 'value', least: 16 },
        { title: 'is', least: 10 },
        { title: 'basis', least: 14 },
      ],
      finding.values.map((v) => [v.name, v.text, citation(v, sources)]),
      indent,
    );
  }
  page.labelled('rule', finding.id, indent, 6);
  page.labelled('clause', clauseText(finding), indent, 6);
  page.labelled('next', finding.next, indent, 6);
}

/** A finding that holds: the result, and the numbers in one paragraph. */
function writeHolding(page: Page, finding: Finding, sources: SourceList): void {
  page.labelled(finding.level, cleanText(finding.subject, '(unnamed)'), 2, label, finding.level);
  const indent = 2 + label + 2;
  const values = finding.values.map((v) => {
    return `${cleanText(v.name)}: ${cleanText(v.text)} (${citation(v, sources)})`;
  });
  page.paragraph(finding.message, indent);
  page.labelled('values', values.join('; '), indent, 6);
  const number = sources.number(finding.clause);
  const clause = number === undefined ? clauseText(finding) : `clause [${number}]`;
  page.labelled('rule', `${cleanText(finding.id)}; ${clause}`, indent, 6);
  page.labelled('next', finding.next, indent, 6);
}

/** A finding that holds, in a line or two. */
function writeBriefly(page: Page, finding: Finding): void {
  const subject = cleanText(finding.subject, '(unnamed)');
  page.labelled(
    finding.level,
    `${subject}: ${cleanText(finding.message)}`,
    2,
    label,
    finding.level,
  );
}

/** Counts by level, worst first: `2 stop, 1 caution, 9 ok`. */
export function levelCounts(findings: readonly Finding[]): string {
  const counts = levelsWorstFirst
    .map((level) => ({ level, n: findings.filter((f) => f.level === level).length }))
    .filter(({ n }) => n > 0)
    .map(({ level, n }) => `${n} ${level}`);
  return counts.length === 0 ? 'nothing checked' : counts.join(', ');
}

/** The fit section: findings by level, the worst first; what holds in full only when asked. */
export function writeFindings(
  page: Page,
  findings: readonly Finding[],
  sources: SourceList,
  full: boolean,
): void {
  page.heading(`Fit: ${levelCounts(findings)}`);
  for (const level of levelsWorstFirst) {
    const group: readonly Finding[] = findings.filter((f) => f.level === level);
    if (group.length === 0) continue;
    page.space();
    page.paragraph(`${level} - ${levelMeaning[level]}`, 0, level);
    page.space();
    for (const finding of group) {
      if (level !== 'ok') writeFinding(page, finding, sources);
      else if (full) writeHolding(page, finding, sources);
      else writeBriefly(page, finding);
    }
  }
}
