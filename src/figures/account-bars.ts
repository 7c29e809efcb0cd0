/**
 * Bars split by account on one scale: the ledgers of several links, a measured transfer beside the
 * predicted one, an old bus beside a new link. Colour, pattern and letter each tell accounts apart.
 */
import { type AccountId, accounts } from '../model/accounts.ts';
import { formatPercent, formatTime } from '../quantity/index.ts';
import { requireFinite } from './axes.ts';
import { framed } from './frame.ts';
import { swatches } from './palette.ts';
import { accountMarks, accountTitle } from './shares.ts';
import { fontFamily, ink, typeSize, weight } from './style.ts';
import { element, type Svg, together } from './svg.ts';
import { label, shorten, textWidth } from './text.ts';

/** One bar: what it stands for, and how much each account takes. */
export interface AccountBar {
  readonly label: string;
  /** Fractions of one, or seconds; never negative. */
  readonly parts: readonly { readonly account: AccountId; readonly amount: number }[];
  /** What is in no account: time that was measured and that no account explains. */
  readonly unexplained?: number;
  /** Words at the end of the bar, such as its rate. */
  readonly end?: string;
}

export interface AccountBars {
  readonly title: string;
  readonly subtitle?: string;
  readonly note?: string;
  readonly unit: 'share' | 'seconds';
  readonly bars: readonly AccountBar[];
}

const width = 720;
const barHeight = 26;
const rowHeight = 50;
const left = 12;
const right = 12;
const keyColumn = 172;

const amountText = (unit: AccountBars['unit'], amount: number) =>
  unit === 'share' ? formatPercent(amount, 1) : formatTime(amount);

/**
 * The figure as one SVG.
 * @param id parts the patterns of this figure from those of others in one page: letters and digits
 * @throws RangeError for a negative amount or one that is not finite
 */
export function accountBars(data: AccountBars, id = 'bars'): string {
  const { title, subtitle, note, unit, bars } = data;
  const amounts = bars.flatMap((b) => [...b.parts.map((p) => p.amount), b.unexplained ?? 0]);
  requireFinite('account bars', amounts);
  if (amounts.some((a) => a < 0)) throw new RangeError('account bars: an amount is negative');
  const frame = { title, width, ...(subtitle ? { subtitle } : {}), ...(note ? { note } : {}) };
  const longest = Math.max(0, ...bars.map(total));
  if (longest === 0) {
    const description = 'Nothing is charged to any account.';
    return framed({ ...frame, description, note: description }, { content: nothing, height: 8 });
  }
  const used = accounts.filter((a) => bars.some((b) => amountOf(b, a.id) > 0)).map((a) => a.id);
  const ends = Math.max(0, ...bars.map((b) => textWidth(b.end ?? '', typeSize.small)));
  const scale = (width - left - right - (ends === 0 ? 0 : ends + 8)) / longest;
  const rows = bars.map((bar, i) => row(bar, i * rowHeight, scale, id));
  const below = bars.length * rowHeight + 4;
  const key = keyOf(used, bars.length === 1 ? bars[0] : undefined, below, unit, id);
  const content = together([patterns(used, id), ...rows, key.content]);
  const description = bars.map((bar) => describe(bar, unit)).join(' ');
  return framed({ ...frame, description }, { content, height: below + key.height });
}

const nothing: Svg = { svg: '' };

function total(bar: AccountBar): number {
  return bar.parts.reduce((sum, p) => sum + p.amount, bar.unexplained ?? 0);
}

function amountOf(bar: AccountBar, account: AccountId): number {
  return bar.parts.reduce((sum, p) => (p.account === account ? sum + p.amount : sum), 0);
}

/** Tiles of accounts that wait, once a figure. */
function patterns(used: readonly AccountId[], id: string): Svg {
  const tiles = used.flatMap((account) => {
    const { fill, pattern } = swatches[account];
    if (pattern === undefined) return [];
    const line = { d: pattern, stroke: '#6b6b6b', 'stroke-width': '1.2', fill: 'none' };
    const tile = { id: `${id}-${account}`, width: 8, height: 8, patternUnits: 'userSpaceOnUse' };
    return [
      element(
        'pattern',
        tile,
        element('rect', { width: 8, height: 8, fill }),
        element('path', line),
      ),
    ];
  });
  return tiles.length === 0 ? nothing : element('defs', {}, ...tiles);
}

function box(account: AccountId, id: string, at: Readonly<Record<string, number>>): Svg {
  const { fill, pattern } = swatches[account];
  const paint = pattern === undefined ? fill : `url(#${id}-${account})`;
  return element('rect', { ...at, fill: paint, stroke: ink.paper, 'stroke-width': weight.frame });
}

/** The letter of an account, on a light halo where the ground is a pattern. */
function letter(account: AccountId, x: number, y: number): Svg {
  const { ink: colour, pattern } = swatches[account];
  const halo = { stroke: ink.paper, 'stroke-width': '4', 'paint-order': 'stroke' };
  return element(
    'text',
    {
      x,
      y,
      'font-family': fontFamily,
      'font-size': typeSize.text,
      'font-weight': '600',
      'text-anchor': 'middle',
      fill: colour,
      ...(pattern === undefined ? {} : halo),
    },
    accountMarks[account],
  );
}

function row(bar: AccountBar, top: number, scale: number, id: string): Svg {
  const name = shorten(bar.label, width - left - right, typeSize.text);
  const pieces = [label(name, { x: left, y: top + 12, size: typeSize.text })];
  let x = left;
  for (const { id: account } of accounts) {
    const wide = amountOf(bar, account) * scale;
    if (wide <= 0) continue;
    const at = { x, y: top + 17, width: wide, height: barHeight };
    pieces.push(box(account, id, at));
    if (wide >= 12) pieces.push(letter(account, x + wide / 2, top + 17 + barHeight / 2 + 4));
    x += wide;
  }
  const open = (bar.unexplained ?? 0) * scale;
  if (open > 0) {
    pieces.push(
      element('rect', { x, y: top + 17, width: open, height: barHeight, fill: ink.paper }),
    );
    const middle = { x: x + open / 2, y: top + 17 + barHeight / 2 + 4, size: typeSize.text };
    if (open >= 12) pieces.push(label('?', { ...middle, anchor: 'middle', bold: true }));
    x += open;
  }
  const outline = { x: left, y: top + 17, width: x - left, height: barHeight, fill: 'none' };
  pieces.push(element('rect', { ...outline, stroke: ink.text, 'stroke-width': weight.frame }));
  if (bar.end !== undefined) {
    pieces.push(label(bar.end, { x: x + 8, y: top + 17 + 17, size: typeSize.small }));
  }
  return together(pieces);
}

/** The key in columns; with a single bar it gives the amounts as well. */
function keyOf(
  used: readonly AccountId[],
  single: AccountBar | undefined,
  top: number,
  unit: AccountBars['unit'],
  id: string,
) {
  const columns = Math.floor((width - left - right) / keyColumn);
  const down = Math.ceil(used.length / columns);
  const entries = used.map((account, i) => {
    const x = left + Math.floor(i / down) * keyColumn;
    const y = top + (i % down) * 20;
    const amount = single ? `  ${amountText(unit, amountOf(single, account))}` : '';
    const words = shorten(`${accountTitle(account)}${amount}`, keyColumn - 34, typeSize.small);
    return together([
      box(account, id, { x, y, width: 22, height: 16 }),
      element('rect', { x, y, width: 22, height: 16, fill: 'none', stroke: ink.line }),
      letter(account, x + 11, y + 12),
      label(words, { x: x + 28, y: y + 12, size: typeSize.small }),
    ]);
  });
  return { content: together(entries), height: down * 20 + 4 };
}

function describe(bar: AccountBar, unit: AccountBars['unit']): string {
  const parts = accounts
    .map(({ id }) => ({ id, amount: amountOf(bar, id) }))
    .filter((p) => p.amount > 0)
    .map((p) => `${accountTitle(p.id)} ${amountText(unit, p.amount)}`);
  if ((bar.unexplained ?? 0) > 0) {
    parts.push(`in no account ${amountText(unit, bar.unexplained!)}`);
  }
  return `${bar.label}: ${parts.join(', ')}.`;
}
