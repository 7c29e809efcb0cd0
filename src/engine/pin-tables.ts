/** Documents of pin tables: a connector by its standard, and a pattern of rear I/O. */
import type { PatternPin, PinsDocument } from '../model/pins.ts';
import type { P15Assignment, PinConnector, PinRow } from '../standards/pins/index.ts';
import { pinTable } from '../standards/pins/index.ts';
import {
  parsePlacement,
  rearPattern,
  rearPatterns,
  signalContacts,
  vmePattern,
  vmePatterns,
  wafersOf,
} from '../standards/rear/index.ts';
import { version } from './version.ts';

const head = { schema: 'lanewright.pins/1', tool: { name: 'lanewright', version } } as const;

const recalled = (rows: readonly { readonly basis: string }[]) => {
  const count = rows.filter((row) => row.basis === 'memory').length;
  return count === 0
    ? []
    : [`${count} of ${rows.length} rows are from memory: confirm them before anything is wired.`];
};

function tableRow(row: PinRow) {
  const { pin, signal, group, driver, pair, alternative, document, clause, basis } = row;
  return {
    pin,
    signal,
    group,
    driver,
    ...(pair && { pair: pair.pair, polarity: pair.polarity, mate: pair.mate }),
    ...(alternative !== undefined && { alternative }),
    document,
    clause,
    basis,
  };
}

/** The table of a connector; `assignment` matters for P15 alone. */
export function connectorPins(
  connector: PinConnector,
  assignment: P15Assignment = 'PCI Express',
): PinsDocument {
  const rows = pinTable(connector, assignment).map(tableRow);
  const how = connector === 'P15' ? `, ${assignment}` : '';
  return {
    ...head,
    title: `${connector}${how}: ${rows.length} pins`,
    notes: [
      'Drivers are named from the module: what it drives the carrier receives on the same pin.',
      ...recalled(rows),
    ],
    kind: 'connector',
    connector,
    ...(connector === 'P15' && { assignment }),
    rows,
  };
}

/** Why a text is no rear pattern, at a column that counts from 1. */
export interface RearTextProblem {
  readonly column: number;
  readonly expected: string;
  readonly got: string;
  readonly next: string;
}

export type RearPins =
  | { readonly ok: true; readonly value: PinsDocument }
  | { readonly ok: false; readonly problem: RearTextProblem };

const names = [...rearPatterns, ...vmePatterns].map((p) => p.id).join(', ');

function strange(column: number, got: string): RearPins {
  const next = `use one of ${names}`;
  return { ok: false, problem: { column, expected: 'a pattern that is known', got, next } };
}

function vmeRows(id: string): { rows: PatternPin[]; notes: string[] } | undefined {
  const row = vmePattern(id);
  if (row === undefined) return undefined;
  const { document, clause, basis, connector, map, carries } = row;
  const rows = [...(map ?? [])].map(([pin, to]) => {
    return { pin: `${pin}`, contact: `${connector}-${to}`, pattern: id, document, clause, basis };
  });
  const unknown = `${id} carries up to ${carries} pins; which, is not known here.`;
  const lost = carries < 64 ? `Pins ${carries + 1} to 64 of Pn4 have no path.` : '';
  return { rows, notes: [map === undefined ? unknown : lost].filter((n) => n !== '') };
}

/** The table of a placement (`P2w1-X8d+X12d`) or of a pattern of VME (`P4V2-64ac`). */
export function rearPins(text: string): RearPins {
  const vme = vmeRows(text);
  const found = vme ?? placementRows(text);
  if ('ok' in found) return found;
  return {
    ok: true,
    value: {
      ...head,
      title: `${text}: ${found.rows.length} pins`,
      notes: [
        'A draft: the text of the standard was not in hand. Confirm each contact before wiring.',
        ...found.notes,
        ...recalled(found.rows),
      ],
      kind: 'rear',
      rear: text,
      rows: found.rows,
    },
  };
}

function placementRows(text: string): { rows: PatternPin[]; notes: string[] } | RearPins {
  const parsed = parsePlacement(text);
  if (!parsed.ok) {
    const next = 'write it as a slot profile does, such as P2w1-X8d+X12d, or P4V2-64ac';
    return { ok: false, problem: { ...parsed.problem, next } };
  }
  const { connector, wafer, patterns } = parsed.value;
  const rows: PatternPin[] = [];
  const notes: string[] = [];
  let first = wafer;
  for (const { pattern, column } of patterns) {
    const row = rearPattern(pattern);
    if (row === undefined) return strange(column, pattern);
    const wafers = wafersOf(row);
    const contacts = signalContacts(first, wafers);
    const { document, clause, basis } = row;
    for (const [i, pin] of (row.pins ?? []).entries()) {
      const contact = `${connector}-${contacts[i]}`;
      rows.push({ pin: `${row.connector} ${pin}`, contact, pattern, document, clause, basis });
    }
    if (row.pins === undefined) {
      const last = first + wafers - 1;
      notes.push(
        `${pattern} takes wafers ${first} to ${last}; which ${row.count} pins is not known here.`,
      );
    }
    first += wafers;
  }
  if (first - 1 > 16) notes.push(`It ends at wafer ${first - 1}; a connector has 16.`);
  return { rows, notes };
}
