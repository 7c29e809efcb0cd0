/** Wordings of rear I/O that text, page and print share. */
import type { PinEntry, PinSheet, PinSide } from '../model/pins.ts';
import type { RearRow, RearTable } from '../model/rear.ts';

/** `P16 over P2w1-X8d`. */
export function rearTitle({ connector, routes }: RearTable): string {
  return routes.length === 0 ? connector : `${connector} over ${routes.join(', ')}`;
}

/** What to know before the table is used; empty where every contact was stated by a board's maker. */
export function rearWarning({ draft }: RearTable): string {
  return draft
    ? 'A draft: contacts rest on a pattern recalled from memory. Do not wire by it before the ' +
        'text of the standard, or the maker of the carrier, confirms them.'
    : '';
}

/** Where a signal ends: a contact, or what became of it. */
export function rearEnd(row: RearRow): string {
  return row.standing === 'reaches' ? (row.contact ?? '') : row.standing;
}

/** Cells of a row, in the order of `rearColumns`. */
export function rearCells(row: RearRow): readonly string[] {
  const electrical = [row.direction, row.level].filter((t) => t !== undefined).join(', ');
  return [row.signal, row.pin, electrical, rearEnd(row), row.by ?? ''];
}

export const rearColumns = ['signal', 'mezzanine pin', 'at the module', 'backplane pin', 'by'];

/** Pins that say something; what both boards leave open, or one does and the other does not list. */
export function tellingPins({ pins }: PinSheet): {
  readonly shown: readonly PinEntry[];
  /** A sentence on the others; empty when there are none. */
  readonly rest: string;
} {
  const open = (side: PinSide | undefined) => side === undefined || side.use === 'open';
  const shown = pins.filter((p) => p.remarks.length > 0 || !open(p.module) || !open(p.carrier));
  const left = pins.length - shown.length;
  const rest = left === 0 ? '' : `${left} more pins are listed as open, and nothing else is there.`;
  return { shown, rest };
}
