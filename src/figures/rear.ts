/**
 * The path of rear I/O: what the module calls a signal, the mezzanine pin, the contact of the
 * backplane. Pairs share a row. What is lost ends in a cross, what is not known in a question mark.
 */
import type { RearRow, RearStanding, RearTable } from '../model/rear.ts';
import { framed } from './frame.ts';
import { ink, levelStyle, typeSize, weight } from './style.ts';
import { coordinate, element, type Svg, together } from './svg.ts';
import { label, shorten } from './text.ts';

const width = 720;
const rowHeight = 19;
interface Column {
  readonly x: number;
  readonly width: number;
  readonly title: string;
}
type Columns = readonly [Column, Column, Column];

/** Columns across the drawing, and of two panels side by side. */
const whole: Columns = [
  { x: 12, width: 270, title: 'signal of the module' },
  { x: 340, width: 110, title: 'mezzanine pin' },
  { x: 520, width: 188, title: 'backplane pin' },
];
const panel = (x: number): Columns => [
  { x, width: 124, title: 'signal of the module' },
  { x: x + 140, width: 60, title: 'pin' },
  { x: x + 216, width: 122, title: 'backplane pin' },
];
const halves: readonly Columns[] = [panel(12), panel(370)];

/** Rows above which the drawing has two panels: it has to fit a page. */
const PANEL_ROWS = 26;
/** Most rows drawn; the table has all of them. */
const ROWS_MAX = 72;

interface Row {
  readonly signal: string;
  readonly pins: string;
  readonly end: string;
  readonly standing: RearStanding;
  readonly pair: boolean;
}

const signs: Readonly<Record<RearStanding, { colour: string; sign: string; dash?: string }>> = {
  reaches: { colour: '#117733', sign: '' },
  lost: { colour: levelStyle.stop.colour, sign: levelStyle.stop.sign, dash: '2 3' },
  'not known': { colour: levelStyle.unknown.colour, sign: levelStyle.unknown.sign, dash: '7 3' },
  'ends on the carrier': { colour: ink.soft, sign: '', dash: '7 3 2 3' },
};

function endOf(row: RearRow): string {
  return row.standing === 'reaches' ? (row.contact ?? '') : row.standing;
}

/** Both halves of a pair as one row where they share what becomes of them. */
function drawnRows(rows: readonly RearRow[]): readonly Row[] {
  const by = new Map(rows.map((row) => [row.pin, row]));
  const done = new Set<string>();
  return rows.flatMap((row): Row[] => {
    if (done.has(row.pin)) return [];
    const mate = row.mate === undefined ? undefined : by.get(row.mate);
    if (mate !== undefined && mate.standing === row.standing) {
      done.add(mate.pin);
      const end = row.standing === 'reaches' ? `${endOf(row)}, ${endOf(mate)}` : endOf(row);
      const signal = row.signal.replace(/[+-]$/, '±');
      return [{ signal, pins: `${row.pin}, ${mate.pin}`, end, standing: row.standing, pair: true }];
    }
    const { signal, pin, standing } = row;
    return [{ signal, pins: pin, end: endOf(row), standing, pair: false }];
  });
}

function wire(from: number, to: number, y: number, row: Row): Svg {
  const { colour, dash } = signs[row.standing];
  const lines = row.pair ? [y - 1.6, y + 1.6] : [y];
  return element('path', {
    d: lines.map((at) => `M${coordinate(from)} ${coordinate(at)}H${coordinate(to)}`).join(''),
    stroke: colour,
    'stroke-width': row.pair ? weight.frame : 1.5,
    'stroke-dasharray': dash,
    fill: 'none',
  });
}

function rowSvg(row: Row, y: number, columns: Columns): Svg {
  const [signal, pin, end] = columns;
  const middle = y + rowHeight / 2;
  const text = (content: string, column: Column, fill: string = ink.text) =>
    label(shorten(content, column.width - 12, typeSize.text), {
      x: column.x + 6,
      y: middle + 4,
      size: typeSize.text,
      fill,
    });
  const { colour, sign } = signs[row.standing];
  const box = (column: Column) =>
    element('rect', {
      x: column.x,
      y: y + 1.5,
      width: column.width,
      height: rowHeight - 3,
      fill: ink.paper,
      stroke: ink.line,
      'stroke-width': weight.grid,
    });
  const last = sign === '' ? row.end : `${sign} ${row.end}`;
  return together([
    box(signal),
    box(pin),
    box(end),
    wire(signal.x + signal.width, pin.x, middle, { ...row, standing: 'reaches' }),
    wire(pin.x + pin.width, end.x, middle, row),
    text(row.signal, signal),
    text(row.pins, pin),
    text(last, end, row.standing === 'reaches' ? ink.text : colour),
  ]);
}

function titleOf(table: RearTable): string {
  const { rows, connector } = table;
  const of = (standing: RearStanding) => rows.filter((r) => r.standing === standing).length;
  const [lost, open] = [of('lost'), of('not known')];
  if (lost > 0) return `${lost} of ${rows.length} signals of ${connector} are lost`;
  if (open > 0) return `Where ${open} of ${rows.length} signals of ${connector} go is not known`;
  return `All ${rows.length} signals of ${connector} have a place${table.draft ? ', in a draft' : ''}`;
}

/** The drawing of one connector's rear I/O. */
export function rearFigure(table: RearTable): string {
  const rows = drawnRows(table.rows);
  const shown = rows.slice(0, ROWS_MAX);
  const top = 20;
  const panels = shown.length > PANEL_ROWS ? halves : [whole];
  const each = Math.ceil(shown.length / panels.length);
  const heads = panels.flat().map((c) => {
    return label(c.title, { x: c.x, y: 12, size: typeSize.small, fill: ink.soft, bold: true });
  });
  const lines = shown.map((row, i) =>
    rowSvg(row, top + (i % each) * rowHeight, panels[Math.floor(i / each)]!),
  );
  const content = together([...heads, ...lines]);
  const routes = table.routes.length === 0 ? 'no pattern, no map' : table.routes.join(', ');
  const left = rows.length - shown.length;
  const more = left > 0 ? ` ${left} more rows are in the table.` : '';
  const draft = table.draft ? ' Contacts are from memory: confirm them before wiring.' : '';
  return framed(
    {
      title: titleOf(table),
      subtitle: `${table.connector} over ${routes}`,
      description: rows.map((r) => `${r.signal}: ${r.pins} to ${r.end}`).join('; '),
      note: `A double line is a pair, kept together.${draft}${more}`,
      width,
    },
    { content, height: top + each * rowHeight + 10 },
  );
}
