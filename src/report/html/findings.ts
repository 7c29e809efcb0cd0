/** Findings as HTML: what to act on as blocks, what holds as one table. */
import type { Finding } from '../../model/finding.ts';
import type { SourceList } from '../sources.ts';
import { basisWords, levelMeaning, levelsWorstFirst } from '../words.ts';
import { cite, html, levelTag, type Markup, nothing, table } from './markup.ts';

function clause(finding: Finding): string {
  return finding.clause === ''
    ? basisWords[finding.basis]
    : `${finding.clause} (${basisWords[finding.basis]})`;
}

function valuesTable(finding: Finding, sources: SourceList): Markup {
  if (finding.values.length === 0) return nothing;
  return table(
    `Values of ${finding.subject}`,
    [{ title: 'value' }, { title: 'is' }, { title: 'basis' }],
    finding.values.map((v) => [v.name, v.text, cite(v, sources)]),
  );
}

function block(finding: Finding, sources: SourceList): Markup {
  const next = finding.next === '' ? nothing : html`<p class="next">Next: ${finding.next}</p>`;
  return html`<article class="finding">
<h4>${levelTag(finding.level)} <span>${finding.subject || '(unnamed)'}</span></h4>
<p>${finding.message}</p>
${valuesTable(finding, sources)}${next}
<p class="note">Rule ${finding.id}; ${clause(finding)}</p>
</article>
`;
}

/** A clause that the list of sources has, by its number; any other in full. */
function clauseCited(finding: Finding, sources: SourceList): Markup {
  const number = sources.number(finding.clause);
  if (number === undefined) return html`${clause(finding)}`;
  return html`clause <a href="#source-${number}">[${number}]</a>`;
}

function holdsTable(findings: readonly Finding[], sources: SourceList): Markup {
  return table(
    'Rules that hold',
    [{ title: 'checked, with the result' }, { title: 'values' }, { title: 'rule' }],
    findings.map((f) => [
      html`<strong>${f.subject || '(unnamed)'}</strong><div>${f.message}</div><div>${f.next}</div>`,
      f.values.map((v) => html`<div>${v.name}: ${v.text} (${cite(v, sources)})</div>`),
      html`<div>${f.id}</div>${clauseCited(f, sources)}`,
    ]),
  );
}

/** The fit section's content, the worst level first. */
export function findingsHtml(findings: readonly Finding[], sources: SourceList): Markup {
  if (findings.length === 0) return html`<p>Nothing was checked.</p>`;
  const groups = levelsWorstFirst.map((level) => {
    const group = findings.filter((f) => f.level === level);
    if (group.length === 0) return nothing;
    const head = html`<h3>${group.length} ${level}: ${levelMeaning[level]}</h3>\n`;
    return html`${head}${level === 'ok' ? holdsTable(group, sources) : group.map((f) => block(f, sources))}`;
  });
  return html`${groups}`;
}
