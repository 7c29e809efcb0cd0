/** Rear I/O and pins of two boards in the text of an answer. */
import type { PinSheet } from '../../model/pins.ts';
import type { RearTable } from '../../model/rear.ts';
import { rearCells, rearColumns, rearTitle, rearWarning, tellingPins } from '../rear-words.ts';
import type { Page } from './page.ts';
import { remarkText, sideText } from './pins.ts';

const least: Readonly<Record<string, number>> = { signal: 14, 'at the module': 8 };

/** Each signal of the module with its mezzanine pin and its contact of the backplane. */
export function writeRear(page: Page, tables: readonly RearTable[]): void {
  for (const table of tables) {
    page.heading(`Rear I/O of ${rearTitle(table)}`);
    page.paragraph(rearWarning(table), 0, 'caution');
    page.table(
      rearColumns.map((title) => {
        const narrow = least[title];
        return narrow === undefined ? { title } : { title, least: narrow };
      }),
      table.rows.map((row) => [...rearCells(row)]),
    );
  }
}

/** Every pin of which a board says more than that it is open, with what the rules say of it. */
export function writePins(page: Page, sheets: readonly PinSheet[]): void {
  for (const sheet of sheets) {
    const { shown, rest } = tellingPins(sheet);
    page.heading(`Pins of ${sheet.connector}`);
    page.table(
      [
        { title: 'pin' },
        { title: 'standard' },
        { title: 'module', least: 12 },
        { title: 'carrier', least: 12 },
        { title: 'remark', least: 12 },
      ],
      shown.map((p) => [p.pin, p.standard, sideText(p.module), sideText(p.carrier), remarkText(p)]),
    );
    page.paragraph(rest);
  }
}
