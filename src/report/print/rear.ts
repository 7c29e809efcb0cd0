/** Rear I/O and pins of two boards in print. */
import { pinSheetFigure, rearFigure } from '../../figures/index.ts';
import type { PinSheet } from '../../model/pins.ts';
import type { RearTable } from '../../model/rear.ts';
import { cleanText } from '../clean.ts';
import { rearCells, rearColumns, rearTitle, rearWarning, tellingPins } from '../rear-words.ts';
import { remarkText, sideText } from '../text/pins.ts';
import type { PrintBlock } from './model.ts';

type Figure = (name: string, svg: string | undefined) => PrintBlock[];

/** Each connector: its drawing, then its signals one by one. */
export function rearBlocks(tables: readonly RearTable[], figure: Figure): PrintBlock[] {
  return tables.flatMap((t): PrintBlock[] => {
    const warning = rearWarning(t);
    return [
      ...figure(`rear-${t.connector}`, rearFigure(t)),
      ...(warning === '' ? [] : [{ kind: 'text', text: warning } as const]),
      {
        kind: 'table',
        caption: `Rear I/O of ${cleanText(rearTitle(t))}`,
        columns: rearColumns.map((title, i) => (i === 0 ? { title, share: 1 } : { title })),
        rows: t.rows.map((row) => rearCells(row).map((cell) => cleanText(cell))),
      },
    ];
  });
}

/** Each connector: its drawing, then its pins one by one. */
export function pinBlocks(sheets: readonly PinSheet[], figure: Figure): PrintBlock[] {
  return sheets.flatMap((s): PrintBlock[] => {
    const { shown, rest } = tellingPins(s);
    return [
      ...figure(`pins-${s.connector}`, pinSheetFigure(s)),
      {
        kind: 'table',
        caption: `Pins of ${s.connector}`,
        columns: [
          { title: 'pin' },
          { title: 'standard' },
          { title: 'module', share: 3 },
          { title: 'carrier', share: 3 },
          { title: 'remark', share: 3 },
        ],
        rows: shown.map((p) =>
          [p.pin, p.standard, sideText(p.module), sideText(p.carrier), remarkText(p)].map((cell) =>
            cleanText(cell),
          ),
        ),
      },
      ...(rest === '' ? [] : [{ kind: 'small', text: rest } as const]),
    ];
  });
}
