/** Blocks of a printed document as HTML, so that page and paper say the same words. */
import type { PrintBlock, PrintCell, PrintSection, PrintTable } from '../print/model.ts';
import { html, levelTag, type Markup, nothing, table } from './markup.ts';

/** A section's blocks; figures by the names that its figure blocks have. */
export function sectionHtml(
  { blocks }: PrintSection,
  figures: Readonly<Record<string, string>>,
): Markup {
  return html`${blocks.map((block) => blockHtml(block, figures))}`;
}

function blockHtml(block: PrintBlock, figures: Readonly<Record<string, string>>): Markup {
  switch (block.kind) {
    case 'text':
      return html`<p>${block.text}</p>\n`;
    case 'small':
      return html`<p class="small">${block.text}</p>\n`;
    case 'heading':
      return html`<h3>${block.text}${block.level ? html` ${levelTag(block.level)}` : nothing}</h3>\n`;
    case 'list':
      return html`<ul>\n${items(block.items)}</ul>\n`;
    case 'numbered':
      return html`<ol>\n${items(block.items)}</ol>\n`;
    case 'table':
      return tableHtml(block);
    case 'verdict':
      return verdictHtml(block);
    case 'step':
      return stepHtml(block);
    case 'figure':
      // Made by the figures, whose text is escaped there.
      return html`<figure>${{ markup: figures[block.name] ?? '' }}</figure>\n`;
    case 'finding':
      return html`<h3>${levelTag(block.level)} ${block.subject}</h3>
<p>${block.message}</p>
${block.values ? tableHtml(block.values) : nothing}<p class="next">${block.next}</p>
<p class="small">${block.clause}</p>\n`;
    case 'signatures':
      return tableHtml({
        kind: 'table',
        caption: 'Signatures',
        columns: ['role', 'name', 'signature', 'date'].map((title) => ({ title })),
        rows: block.roles.map((role) => [role, '', '', '']),
      });
  }
}

function items(texts: readonly string[]): Markup[] {
  return texts.map((text) => html`<li>${text}</li>\n`);
}

function cell(value: PrintCell): string | Markup {
  return typeof value === 'string' ? value : levelTag(value.level);
}

function tableHtml({ caption, columns, rows }: PrintTable): Markup {
  return table(
    caption,
    columns,
    rows.map((row) => row.map(cell)),
  );
}

function verdictHtml(block: Extract<PrintBlock, { kind: 'verdict' }>): Markup {
  const levels = block.levels.map(
    ({ about, level }) => html`<span>${about}: ${levelTag(level)}</span>`,
  );
  return html`<div class="verdict ${block.worst}">
<p class="levels">${levels}</p>
<p class="summary">${block.summary}</p>
${block.decide === '' ? nothing : html`<p>To decide: ${block.decide}</p>`}
</div>
`;
}

function stepHtml(block: Extract<PrintBlock, { kind: 'step' }>): Markup {
  const expect =
    block.expect.length === 0 ? nothing : html`<p>Expected:</p>\n<ul>${items(block.expect)}</ul>\n`;
  const command =
    block.command === ''
      ? nothing
      : html`<p>Read it with: <code class="mono">${block.command}</code></p>\n`;
  return html`<div class="step">
<h3>${block.number} ${block.title}</h3>
<p>${block.action}</p>
${expect}<p>To record:</p>
<ul>${items(block.record)}</ul>
${command}</div>
`;
}
