/**
 * Fields of pins as the connector has them, drawn to scale: 2 x 32 pins at 1.0 mm (read in
 * interfacebus.com/PMC_Card_Pinout.html), 6 x 19 at 1.27 mm (from memory). Each pin has a letter for
 * what it is; a pin with a remark has a heavy frame and the sign of its level.
 */
import type { Level } from '../model/finding.ts';
import type { PinSheet, PinSide, PinsDocument, TablePin } from '../model/pins.ts';
import { framed, type KeyEntry } from './frame.ts';
import { ink, levelStyle, typeSize, weight } from './style.ts';
import { element, type Svg, together } from './svg.ts';
import { label } from './text.ts';

/** What a pin is, in a letter and a colour. */
export type PinKind =
  | 'ground'
  | 'power'
  | 'lane'
  | 'clock'
  | 'sideband'
  | 'bus'
  | 'user I/O'
  | 'reserved'
  | 'output'
  | 'input'
  | 'both ways'
  | 'signal'
  | 'rear'
  | 'pull'
  | 'open'
  | 'not listed';

interface KindStyle {
  readonly letter: string;
  readonly fill: string;
  readonly ink: string;
}

const dark = '#ffffff';
const light = '#1b1f24';

/** Light grounds from Paul Tol's schemes (as in style.ts); the letter carries the meaning. */
export const kindStyles: Readonly<Record<PinKind, KindStyle>> = {
  ground: { letter: 'G', fill: '#c9ced4', ink: light },
  power: { letter: 'P', fill: '#882255', ink: dark },
  lane: { letter: 'L', fill: '#332288', ink: dark },
  clock: { letter: 'C', fill: '#44aa99', ink: light },
  sideband: { letter: 'S', fill: '#ddcc77', ink: light },
  bus: { letter: 'B', fill: '#88ccee', ink: light },
  'user I/O': { letter: 'U', fill: '#d5ead9', ink: light },
  reserved: { letter: '–', fill: '#f2f2f2', ink: light },
  output: { letter: '>', fill: '#332288', ink: dark },
  input: { letter: '<', fill: '#88ccee', ink: light },
  'both ways': { letter: 'x', fill: '#44aa99', ink: light },
  signal: { letter: 's', fill: '#ddcc77', ink: light },
  rear: { letter: 'R', fill: '#117733', ink: dark },
  pull: { letter: 'u', fill: '#eed5da', ink: light },
  open: { letter: 'o', fill: '#f6f1e4', ink: light },
  'not listed': { letter: '', fill: '#ffffff', ink: light },
};

export interface PinCell {
  readonly kind: PinKind;
  /** Worst remark, where there is one. */
  readonly level?: Level;
}

/** One board's view of a connector. */
export interface PinField {
  readonly label: string;
  readonly cells: Readonly<Record<string, PinCell>>;
}

export interface PinDrawing {
  readonly title: string;
  readonly subtitle?: string;
  readonly connector: string;
  readonly fields: readonly PinField[];
}

const width = 720;
const left = 34;
const room = width - left - 16;

interface Grid {
  readonly columns: readonly string[];
  readonly rows: readonly string[];
  readonly pitchMm: number;
  readonly pin: (column: number, row: number) => string;
}

/** Columns run across the drawing: rows 1 to 19 of 114 pins, pairs of pins 1/2 to 63/64 of 64. */
function gridOf(connector: string): Grid {
  const count = (n: number) => Array.from({ length: n }, (_, i) => i + 1);
  if (connector === 'P15' || connector === 'P16') {
    const letters = ['A', 'B', 'C', 'D', 'E', 'F'];
    const columns = count(19).map(String);
    return { columns, rows: letters, pitchMm: 1.27, pin: (c, r) => `${letters[r]}${c + 1}` };
  }
  const columns = count(32).map((i) => String(2 * i - 1));
  return { columns, rows: ['odd', 'even'], pitchMm: 1, pin: (c, r) => `${2 * c + r + 1}` };
}

function cellSvg(cell: PinCell, x: number, y: number, pitch: number): Svg {
  const { letter, fill, ink: inkOf } = kindStyles[cell.kind];
  const remark = cell.level === undefined || cell.level === 'ok' ? undefined : cell.level;
  const gap = 1.5;
  const side = pitch - 2 * gap;
  const box = element('rect', {
    x: x + gap,
    y: y + gap,
    width: side,
    height: side,
    fill,
    stroke: remark ? levelStyle[remark].colour : ink.line,
    'stroke-width': remark ? 2.5 : weight.frame,
    'stroke-dasharray': cell.kind === 'not listed' ? '2 2' : undefined,
  });
  const size = Math.min(12, pitch * 0.6);
  // Small cells give the letter the lower left when a sign needs the upper right.
  const aside = remark !== undefined && pitch < 26;
  const middle = aside
    ? { x: x + pitch * 0.34, y: y + pitch * 0.86, size: size * 0.85 }
    : { x: x + pitch / 2, y: y + pitch / 2 + size * 0.36, size };
  const parts = [box, label(letter, { ...middle, anchor: 'middle', fill: inkOf })];
  if (remark) {
    const at = { x: x + pitch - 2, y: y + size * 0.75 + 1, size: size * 0.85 };
    const sign = levelStyle[remark].sign;
    const plate = element('rect', {
      x: x + pitch - size * 0.75 - 2,
      y: y + 1,
      width: size * 0.8,
      height: size * 0.85,
      fill: ink.paper,
    });
    const fillOf = levelStyle[remark].colour;
    parts.push(plate, label(sign, { ...at, anchor: 'end', fill: fillOf, bold: true }));
  }
  return together(parts);
}

function fieldSvg(field: PinField, grid: Grid, top: number, pitch: number): Svg {
  const parts = [
    label(field.label, { x: 12, y: top + 12, size: typeSize.text, bold: true }),
    ...grid.columns.map((name, c) =>
      label(name, {
        x: left + pitch * (c + 0.5),
        y: top + 28,
        size: Math.min(typeSize.small, pitch * 0.5),
        anchor: 'middle',
        fill: ink.soft,
      }),
    ),
  ];
  const first = top + 32;
  grid.rows.forEach((name, r) => {
    parts.push(
      label(name, {
        x: left - 4,
        y: first + pitch * (r + 0.5) + 4,
        size: typeSize.small,
        anchor: 'end',
        fill: ink.soft,
      }),
    );
    grid.columns.forEach((_, c) => {
      const cell = field.cells[grid.pin(c, r)] ?? { kind: 'not listed' as const };
      parts.push(cellSvg(cell, left + pitch * c, first + pitch * r, pitch));
    });
  });
  return together(parts);
}

/** A bar of five millimetres at the drawing's scale. */
function scaleBar(y: number, unitsPerMm: number): Svg {
  const d = `M${left} ${y - 4}v8M${left} ${y}h${(5 * unitsPerMm).toFixed(2)}m0 -4v8`;
  return together([
    element('path', { d, stroke: ink.soft, 'stroke-width': weight.frame, fill: 'none' }),
    label('5 mm', { x: left + 5 * unitsPerMm + 6, y: y + 4, size: typeSize.small, fill: ink.soft }),
  ]);
}

function keyOf(fields: readonly PinField[]): readonly KeyEntry[] {
  const used = new Set(fields.flatMap((f) => Object.values(f.cells).map((c) => c.kind)));
  return (Object.keys(kindStyles) as PinKind[])
    .filter((kind) => used.has(kind) && kind !== 'not listed')
    .map((kind) => {
      const { letter, fill } = kindStyles[kind];
      return { text: `${letter} ${kind}`, sign: 'box', style: { label: kind, colour: fill } };
    });
}

/** Draws the fields one below the other. */
export function pinFields({ title, subtitle, connector, fields }: PinDrawing): string {
  const grid = gridOf(connector);
  const pitch = room / grid.columns.length;
  const each = 32 + pitch * grid.rows.length + 14;
  const bar = fields.length * each + 6;
  const content = together([
    ...fields.map((field, i) => fieldSvg(field, grid, i * each, pitch)),
    scaleBar(bar, pitch / grid.pitchMm),
  ]);
  const from = grid.pitchMm === 1 ? '' : ' (from memory)';
  return framed(
    {
      title,
      ...(subtitle === undefined ? {} : { subtitle }),
      description: describe(connector, fields),
      key: keyOf(fields),
      note:
        `Rows and columns by name, to scale, pitch ${grid.pitchMm} mm${from}; which side is seen is ` +
        'left open. A heavy frame with ×, ? or ! marks a stop, an unknown or a caution; a dashed pin ' +
        'is not listed.',
      width,
    },
    { content, height: bar + 14 },
  );
}

function describe(connector: string, fields: readonly PinField[]): string {
  const parts = fields.map(({ label: name, cells }) => {
    const counts = new Map<string, number>();
    for (const { kind } of Object.values(cells)) counts.set(kind, (counts.get(kind) ?? 0) + 1);
    return `${name}: ${[...counts].map(([kind, n]) => `${n} ${kind}`).join(', ')}`;
  });
  return `Pins of ${connector}. ${parts.join('. ')}.`;
}

const standardKind = (row: Pick<TablePin, 'group'>): PinKind =>
  row.group in kindStyles ? (row.group as PinKind) : 'signal';

function sideKind(side: PinSide | undefined): PinKind {
  if (side === undefined) return 'not listed';
  switch (side.use) {
    case 'pull-up':
    case 'pull-down':
      return 'pull';
    case 'signal':
      if (side.direction === 'out') return 'output';
      if (side.direction === 'in') return 'input';
      return side.direction === 'both' ? 'both ways' : 'signal';
    default:
      return side.use as PinKind;
  }
}

const outcome = {
  stop: 'stop the fit',
  unknown: 'are not decided',
  caution: 'want a look',
} as const;

const rank: Readonly<Record<Level, number>> = { ok: 0, caution: 1, unknown: 2, stop: 3 };

/** What both boards do with the pins of a connector. */
export function pinSheetFigure({ connector, pins }: PinSheet): string {
  const levels = pins.map(({ remarks }) =>
    remarks.reduce<Level>((a, r) => (rank[r.level] > rank[a] ? r.level : a), 'ok'),
  );
  const field = (name: string, side: 'module' | 'carrier'): PinField => ({
    label: name,
    cells: Object.fromEntries(
      pins.map((p, i) => [p.pin, { kind: sideKind(p[side]), level: levels[i]! }]),
    ),
  });
  const bad = levels.filter((l) => l !== 'ok');
  const worst = (['stop', 'unknown', 'caution'] as const).find((l) => bad.includes(l));
  const title =
    worst === undefined
      ? `No conflict on the ${pins.length} pins of ${connector} that a part lists`
      : `${bad.filter((l) => l === worst).length} of ${pins.length} listed pins of ${connector} ` +
        outcome[worst];
  return pinFields({
    title,
    connector,
    fields: [field('module', 'module'), field('carrier', 'carrier')],
  });
}

/** A connector as its standard has it; undefined for a table of rear I/O. */
export function pinTableFigure(document: PinsDocument): string | undefined {
  if (document.kind !== 'connector') return undefined;
  const cells = document.rows.map((r) => [r.pin, { kind: standardKind(r) }] as const);
  const recalled = document.rows.filter((r) => r.basis === 'memory').length;
  return pinFields({
    title: `${document.title}, ${recalled} of them from memory`,
    connector: document.connector,
    fields: [{ label: document.connector, cells: Object.fromEntries(cells) }],
  });
}
