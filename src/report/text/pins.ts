/** Pin tables, pins of two boards and rear I/O as text and as comma-separated values. */
import type { PinEntry, PinSheet, PinSide, PinsDocument } from '../../model/pins.ts';
import type { RearTable } from '../../model/rear.ts';
import { csvText } from '../csv.ts';
import { basisWords } from '../words.ts';
import { Page, type Paint, plain } from './page.ts';

interface Look {
  readonly width?: number;
  readonly paint?: Paint;
}

/** `out trigger 1, 3.3 V`; nothing where the board does not list the pin. */
export function sideText(side: PinSide | undefined): string {
  if (side === undefined) return '';
  const what = side.use === 'signal' ? (side.direction ?? 'signal') : side.use;
  const name = side.signal === undefined ? what : `${what} ${side.signal}`;
  return side.level === undefined ? name : `${name}, ${side.level}`;
}

/** What the rules say of a pin: `stop: two drivers`. */
export function remarkText({ remarks }: PinEntry): string {
  return remarks.map((r) => `${r.level}: ${r.why}`).join('; ');
}

/** The document of `pins` as text. */
export function pinsText(document: PinsDocument, look: Look = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  page.heading(document.title);
  for (const text of document.notes) page.paragraph(text);
  page.space();
  if (document.kind === 'connector') {
    page.table(
      [
        { title: 'pin' },
        { title: 'signal' },
        { title: 'group' },
        { title: 'driver' },
        { title: 'pair' },
        { title: 'basis' },
        { title: 'otherwise', least: 9 },
      ],
      document.rows.map((r) => [
        r.pin,
        r.signal,
        r.group,
        r.driver,
        r.pair === undefined ? '' : `${r.pair}${r.polarity === 'p' ? '+' : '-'}`,
        basisWords[r.basis],
        r.alternative ?? '',
      ]),
    );
  } else if (document.rows.length > 0) {
    page.table(
      [
        { title: 'mezzanine pin' },
        { title: 'backplane pin' },
        { title: 'pattern' },
        { title: 'basis' },
      ],
      document.rows.map((r) => [r.pin, r.contact, r.pattern, basisWords[r.basis]]),
    );
  }
  page.space();
  for (const source of new Set(document.rows.map((r) => `${r.document}, ${r.clause}`))) {
    page.item(source);
  }
  return page.text();
}

/** The document of `pins` as comma-separated values. */
export function pinsCsv(document: PinsDocument): string {
  if (document.kind === 'connector') {
    const columns = ['pin', 'signal', 'group', 'driver', 'pair', 'polarity', 'mate', 'otherwise'];
    return csvText(
      [...columns, 'document', 'clause', 'basis'],
      document.rows.map((r) => [
        r.pin,
        r.signal,
        r.group,
        r.driver,
        r.pair ?? '',
        r.polarity ?? '',
        r.mate ?? '',
        r.alternative ?? '',
        r.document,
        r.clause,
        r.basis,
      ]),
    );
  }
  return csvText(
    ['mezzanine pin', 'backplane pin', 'pattern', 'document', 'clause', 'basis'],
    document.rows.map((r) => [r.pin, r.contact, r.pattern, r.document, r.clause, r.basis]),
  );
}

/** Pins of two boards as comma-separated values. */
export function pinSheetsCsv(sheets: readonly PinSheet[]): string {
  return csvText(
    ['connector', 'pin', 'standard', 'module', 'carrier', 'remarks'],
    sheets.flatMap(({ connector, pins }) =>
      pins.map((p) => [
        connector,
        p.pin,
        p.standard,
        sideText(p.module),
        sideText(p.carrier),
        remarkText(p),
      ]),
    ),
  );
}

/** Rear I/O as comma-separated values. */
export function rearCsv(tables: readonly RearTable[]): string {
  return csvText(
    [
      'signal',
      'connector',
      'mezzanine pin',
      'pair with',
      'direction',
      'level',
      'backplane pin',
      'by',
      'standing',
    ],
    tables.flatMap(({ connector, rows }) =>
      rows.map((r) => [
        r.signal,
        connector,
        r.pin,
        r.mate ?? '',
        r.direction ?? '',
        r.level ?? '',
        r.contact ?? '',
        r.by ?? '',
        r.standing,
      ]),
    ),
  );
}
