/** Findings as HTML: what to act on as blocks, what holds as one table. */
import type { Finding } from '../../model/finding.ts';
import { basisText, basisWords, levelMeaning, levelsWorstFirst } from '../words.ts';
import { html, levelTag, type Markup, nothing, table } from './markup.ts';

function clause(finding: Finding): string {
  return finding.clause === ''
    ? basisWords[finding.basis]
    : `${finding.clause} (${basisWords[finding.basis]})`;
}

function valuesTable(finding: Finding): Markup {
  if (finding.values.length === 0) return nothing;
  return table(
    `Values of ${finding.subject}`,
    [{ title: 'value' }, { title: 'is' }, { title: 'basis' }],
    finding.values.map((v) => [v.name, v.text, basisText(v)]),
  );
}

function block(finding: Finding): Markup {
  const next = finding.next === '' ? nothing : html`<p class="next">Next: ${finding.next}</p>`;
  return html`<article class="finding">
<h4>${levelTag(finding.level)} <span>${finding.subject || '(unnamed)'}</span></h4>
<p>${finding.message}</p>
${valuesTable(finding)}${next}
<p class="note">Rule ${finding.id}; ${clause(finding)}</p>
</article>
`;
}

function holdsTable(findings: readonly Finding[]): Markup {
  return table(
    'Rules that hold',
    [{ title: 'checked' }, { title: 'result' }, { title: 'values' }, { title: 'rule and clause' }],
    findings.map((f) => [
      f.subject || '(unnamed)',
      html`${f.message} ${f.next}`,
      f.values.map((v) => html`<div>${v.name}: ${v.text} (${basisText(v)})</div>`),
      html`${f.id}; ${clause(f)}`,
    ]),
  );
}

/** The fit section's content, the worst level first. */
export function findingsHtml(findings: readonly Finding[]): Markup {
  if (findings.length === 0) return html`<p>Nothing was checked.</p>`;
  const groups = levelsWorstFirst.map((level) => {
    const group = findings.filter((f) => f.level === level);
    if (group.length === 0) return nothing;
    const head = html`<h3>${group.length} ${level}: ${levelMeaning[level]}</h3>\n`;
    return html`${head}${level === 'ok' ? holdsTable(group) : group.map(block)}`;
  });
  return html`${groups}`;
}
