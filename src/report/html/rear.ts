/** Rear I/O and pins of two boards as HTML. */
import { pinSheetFigure, rearFigure } from '../../figures/index.ts';
import type { PinSheet } from '../../model/pins.ts';
import type { RearTable } from '../../model/rear.ts';
import { rearCells, rearColumns, rearTitle, rearWarning, tellingPins } from '../rear-words.ts';
import { remarkText, sideText } from '../text/pins.ts';
import { html, type Markup, nothing, table } from './markup.ts';

/** Figures are made by the tool itself, with foreign text escaped. */
const figure = (svg: string): Markup => html`<figure>${{ markup: svg }}</figure>
`;

/** Each connector: its drawing, then its signals one by one. */
export function rearHtml(tables: readonly RearTable[]): Markup {
  const all = tables.map((t) => {
    const warning = rearWarning(t);
    return html`${figure(rearFigure(t))}${warning === '' ? nothing : html`<p class="next">${warning}</p>`}
${table(
  `Rear I/O of ${rearTitle(t)}`,
  rearColumns.map((title) => ({ title })),
  t.rows.map(rearCells),
)}`;
  });
  return html`${all}`;
}

function pinTable(sheet: PinSheet): Markup {
  const { shown, rest } = tellingPins(sheet);
  const rows = shown.map((p) => [
    p.pin,
    p.standard,
    sideText(p.module),
    sideText(p.carrier),
    remarkText(p),
  ]);
  const columns = ['pin', 'standard', 'module', 'carrier', 'remark'].map((title) => ({ title }));
  const note = rest === '' ? nothing : html`<p class="note">${rest}</p>`;
  return html`${table(`Pins of ${sheet.connector}`, columns, rows)}${note}
`;
}

/** Each connector: its drawing, then its pins one by one. */
export function pinSheetsHtml(sheets: readonly PinSheet[]): Markup {
  return html`${sheets.map((s) => html`${figure(pinSheetFigure(s))}${pinTable(s)}`)}`;
}
