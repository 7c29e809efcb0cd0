/** The answer document as one self-contained HTML page, to read, print and sign. */
import { reconciliationFigures } from '../../figures/index.ts';
import type { Answer, AnswerPart, OptionDependence } from '../../model/answer.ts';
import type { Reconciliation } from '../../model/reconcile.ts';
import { evidenceSections } from '../print/evidence.ts';
import { methodSections } from '../print/method.ts';
import type { PrintBlock } from '../print/model.ts';
import { owedFigures, owedSections } from '../print/owed.ts';
import { type SourceList, sourcesOf } from '../sources.ts';
import { worstLevel } from '../words.ts';
import { sectionHtml } from './blocks.ts';
import { findingsHtml } from './findings.ts';
import { ledgersHtml, patternDefinitions } from './ledgers.ts';
import { html, levelTag, type Markup, nothing, table } from './markup.ts';
import { pinSheetsHtml, rearHtml } from './rear.ts';
import { assumptionsHtml, streamsHtml } from './streams.ts';
import { styleSheet } from './style.ts';

/** Nothing may be fetched, run or sent; the page's own style sheet is all it needs. */
const contentPolicy =
  "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

function field(name: string, value: string | undefined): Markup {
  if (value === undefined || value === '') return nothing;
  return html`<div><dt>${name}</dt><dd>${value}</dd></div>\n`;
}

function titleBlock(answer: Answer): Markup {
  const { case: asked, tool } = answer;
  const question = asked.question ? html`<p>${asked.question}</p>` : nothing;
  return html`<div class="titleblock">
<header><h1>${asked.title || '(untitled)'}</h1>${question}</header>
<dl>
${field('Revision', asked.revision)}${field('Case file', asked.file)}${field(
  'Case file SHA-256 (start)',
  asked.sha256.slice(0, 16),
)}${field('Document', answer.schema)}${field('Made by', `${tool.name} ${tool.version}`)}</dl>
</div>
`;
}

function optionHtml(option: OptionDependence): Markup {
  const others = option.otherwise.map(
    (other) =>
      html`<li>${other.choice} instead: ${other.changes.join('; ') || 'nothing changes'}</li>\n`,
  );
  return html`<h3>${option.part}, ${option.option}: ${option.chosen} is chosen</h3>
${others.length === 0 ? nothing : html`<ul>${others}</ul>`}
`;
}

function verdictHtml(answer: Answer): Markup {
  const { fits, keepsUp, summary, decide } = answer.verdict;
  const levels = [
    fits ? html`<span>Fits: ${levelTag(fits)}</span>` : nothing,
    keepsUp ? html`<span>Keeps up: ${levelTag(keepsUp)}</span>` : nothing,
  ];
  return html`<div class="verdict ${worstLevel(answer)}">
<p class="levels">${levels}</p>
<p class="summary">${summary}</p>
${decide === '' ? nothing : html`<p>To decide: ${decide}</p>`}
</div>
`;
}

function list(items: readonly string[]): Markup {
  return html`<ul>
${items.map((item) => html`<li>${item}</li>\n`)}</ul>
`;
}

function sourcesHtml(sources: SourceList): Markup {
  return html`<ol class="sources">
${sources.list.map((source, i) => html`<li id="source-${i + 1}">${source}</li>\n`)}</ol>
`;
}

function roundings(answer: Answer): Markup {
  return table(
    'Delays rounded up to whole ticks of their link',
    [{ title: 'delay' }, { title: 'seconds', number: true }, { title: 'ticks', number: true }],
    (answer.rate?.roundings ?? []).map((r) => [r.what, r.seconds, r.ticks]),
  );
}

/** The sections that page and paper share: evidence, what is owed, the method. */
function sharedSections(
  answer: Answer,
  sources: SourceList,
  taken: Reconciliation | undefined,
): (readonly [string, Markup])[] {
  const figures: Record<string, string> = {};
  const figure = (name: string, svg: string | undefined): PrintBlock[] => {
    if (svg === undefined) return [];
    figures[name] = svg;
    // The drawing itself carries its words in a page.
    return [{ kind: 'figure', name, description: '' }];
  };
  const sections = [
    ...evidenceSections(taken, taken ? reconciliationFigures(taken) : [], figure),
    ...owedSections(answer.owed, sources, owedFigures(answer, figure)),
    ...methodSections(answer),
  ];
  return sections.map((section) => [section.title, sectionHtml(section, figures)]);
}

function inputsHtml(answer: Answer, taken: Reconciliation | undefined): Markup {
  const evidence = (taken?.inputs ?? []).filter((i) => taken?.evidence.includes(i.file));
  return table(
    'Files read, with the hash that identifies their content',
    [{ title: 'file' }, { title: 'SHA-256' }],
    [...answer.inputs, ...evidence].map((i) => [
      i.file,
      html`<span class="mono">${i.sha256}</span>`,
    ]),
  );
}

function signOff(): Markup {
  const rows = ['Prepared by', 'Checked by', 'Accepted by'].map(
    (who) => html`<tr><th scope="row">${who}</th><td></td><td></td><td></td></tr>\n`,
  );
  return html`<p>The figures hold for the values listed in this document. Where the parts' data sheets, the
standards or local codes say otherwise, they prevail, and a qualified engineer decides.</p>
<div class="scroll sign" role="region" tabindex="0" aria-label="Signatures"><table>
<caption>Signatures</caption>
<thead><tr><th scope="col">role</th><th scope="col">name</th><th scope="col">signature</th><th scope="col">date</th></tr></thead>
<tbody>
${rows}</tbody></table></div>
`;
}

function partsHtml(parts: readonly AnswerPart[]): Markup {
  return table(
    'Parts and build options that this answer is for',
    [{ title: 'part' }, { title: 'id' }, { title: 'title' }, { title: 'built as' }],
    parts.map(({ kind, id, title, site, options }) => {
      const built = site === undefined ? options : [`site ${site}`, ...options];
      return [kind, id, title, built.join(', ') || 'one build only'];
    }),
  );
}

/** The sections that the document has something for, numbered so that people can cite them. */
function numbered(answer: Answer, taken: Reconciliation | undefined): Markup[] {
  const { fit, rate } = answer;
  const sources = sourcesOf(answer, taken);
  // The order lines say it of every option.
  const options = answer.owed ? [] : (answer.verdict.options ?? []);
  const rests = (rate?.streams ?? []).filter((s) => s.assumptions.length > 0);
  const all: readonly (readonly [string, Markup | undefined])[] = [
    ['Verdict', verdictHtml(answer)],
    ['Parts', answer.parts.length > 0 ? partsHtml(answer.parts) : undefined],
    ['Fit', fit && findingsHtml(fit.findings, sources)],
    ['Rear I/O', answer.rear && rearHtml(answer.rear)],
    ['Pins', answer.pins && pinSheetsHtml(answer.pins)],
    ['What the rates leave out', rate && rate.limits.length > 0 ? list(rate.limits) : undefined],
    ['Rates', rate && streamsHtml(rate.streams)],
    ['Ledger', rate && rate.links.length > 0 ? ledgersHtml(rate.links) : undefined],
    [
      'What the rates rest on',
      rests.length > 0 ? assumptionsHtml(rate?.streams ?? [], sources) : undefined,
    ],
    [
      'What other build options would change',
      options.length > 0 ? html`${options.map(optionHtml)}` : undefined,
    ],
    ['Rounding', rate && rate.roundings.length > 0 ? roundings(answer) : undefined],
    ...sharedSections(answer, sources, taken),
    ['Cautions', answer.cautions.length > 0 ? list(answer.cautions) : undefined],
    ['Sources', sources.list.length > 0 ? sourcesHtml(sources) : undefined],
    ['Files', answer.inputs.length > 0 ? inputsHtml(answer, taken) : undefined],
    ['Sign-off', signOff()],
  ];
  const present = all.filter((entry): entry is readonly [string, Markup] => entry[1] !== undefined);
  return present.map(
    ([title, content], i) => html`<section aria-labelledby="section-${i + 1}">
<h2 id="section-${i + 1}">${i + 1} ${title}</h2>
${content}</section>
`,
  );
}

/**
 * The answer as a complete HTML page: no script, nothing fetched, foreign text escaped. A pure
 * function of the document, and of what was measured where that is given.
 */
export function answerHtml(answer: Answer, taken?: Reconciliation): string {
  const page = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${contentPolicy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${answer.case.title || '(untitled)'}: answer</title>
<style>${{ markup: styleSheet }}</style>
</head>
<body>
${patternDefinitions()}<main>
${titleBlock(answer)}${numbered(answer, taken)}</main>
</body>
</html>
`;
  return page.markup;
}
