/** HTML built so that foreign text cannot become markup: every value put in is cleaned and escaped. */
import { cleanText, keepUnits } from '../clean.ts';
import type { Based, SourceList } from '../sources.ts';
import { basisWords } from '../words.ts';

/** Text that is HTML already; only `html` makes it. */
export interface Markup {
  readonly markup: string;
}

export type Insert = string | number | Markup | readonly Markup[] | undefined;

const entities: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text for element content and quoted attributes: cleaned, the five characters escaped, units kept. */
export function escapeHtml(text: string): string {
  return keepUnits(cleanText(text)).replace(/[&<>"']/g, (c) => entities[c]!);
}

function inserted(value: Insert): string {
  if (value === undefined) return '';
  if (typeof value === 'string') return escapeHtml(value);
  if (typeof value === 'number') return String(value);
  if ('markup' in value) return value.markup;
  return value.map((v) => v.markup).join('');
}

/** Template tag: the literal parts are markup, strings put in are text. */
export function html(literals: TemplateStringsArray, ...inserts: readonly Insert[]): Markup {
  let markup = literals[0]!;
  inserts.forEach((insert, i) => {
    markup += inserted(insert) + literals[i + 1]!;
  });
  return { markup };
}

/** Nothing, for parts that are left out. */
export const nothing: Markup = { markup: '' };

/** A table that scrolls inside itself on a narrow screen and can be reached by keyboard. */
export function table(
  caption: string,
  columns: readonly { readonly title: string; readonly number?: boolean }[],
  rows: readonly (readonly Insert[])[],
): Markup {
  const heads = columns.map((c) =>
    c.number
      ? html`<th scope="col" class="number">${c.title}</th>`
      : html`<th scope="col">${c.title}</th>`,
  );
  const body = rows.map((cells) => {
    const filled = cells.map((cell, i) => {
      if (i === 0) return html`<th scope="row">${cell}</th>`;
      return columns[i]?.number ? html`<td class="number">${cell}</td>` : html`<td>${cell}</td>`;
    });
    return html`<tr>${filled}</tr>\n`;
  });
  return html`<div class="scroll" role="region" tabindex="0" aria-label="${caption}">
<table><caption>${caption}</caption>
<thead><tr>${heads}</tr></thead>
<tbody>
${body}</tbody></table></div>
`;
}

/** A level as a word with a look of its own; the word alone carries the meaning. */
export function levelTag(level: string): Markup {
  return html`<span class="level ${level}">${level}</span>`;
}

/** `data sheet [4]`, the number leading to the list of sources. */
export function cite(value: Based, sources: SourceList): Markup {
  const number = sources.number(value.reference);
  const basis = basisWords[value.basis];
  if (number === undefined) return html`${basis}`;
  return html`<span class="cite">${basis} <a href="#source-${number}">[${number}]</a></span>`;
}
