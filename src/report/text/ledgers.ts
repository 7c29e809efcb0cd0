/** Ledgers as text: a bar of letters, and a table that lists what is too small for the bar. */

import {
  accountMarks,
  accountTitle,
  chargedRows,
  shareOut,
  sharesByAccount,
} from '../../figures/shares.ts';
import type { HopLedger } from '../../model/answer.ts';
import { directionText, shareText, ticksAsTime } from '../words.ts';
import type { Page } from './page.ts';

/** The bar: exactly `cells` letters, each account its own, in list order. */
export function ledgerBar(hop: Pick<HopLedger, 'ledger'>, cells: number): string {
  const shares = sharesByAccount(hop);
  if (shares.length === 0) return ' '.repeat(cells);
  const lengths = shareOut(
    cells,
    shares.map((s) => s.ticks),
  );
  return shares.map((s, i) => accountMarks[s.account].repeat(lengths[i]!)).join('');
}

/** Ticks in groups of three, `1 234 567`. */
export function groupedTicks(ticks: number | string): string {
  return String(ticks).replace(/\B(?=(\d{3})+$)/g, ' ');
}

function writeLedger(page: Page, hop: HopLedger): void {
  page.space();
  page.paragraph(`${hop.hop}, ${directionText(hop.direction)}`);
  const window = `${groupedTicks(hop.total)} ticks, ${ticksAsTime(hop, hop.total)}`;
  page.paragraph(`${hop.link}; window of ${window}`, 2);
  page.raw(`  [${ledgerBar(hop, page.width - 4)}]`);
  const { rows, empty } = chargedRows(hop);
  page.table(
    [
      { title: ' ' },
      { title: 'account', least: 18 },
      { title: 'stream', least: 8 },
      { title: 'share', align: 'right' },
      { title: 'time', align: 'right' },
      { title: 'ticks', align: 'right', least: 8 },
    ],
    rows.map((row) => [
      accountMarks[row.account],
      accountTitle(row.account),
      row.stream ?? '',
      shareText(row.share),
      ticksAsTime(hop, row.ticks),
      groupedTicks(row.ticks),
    ]),
    2,
  );
  if (empty.length > 0) page.labelled('nothing', empty.join(', '), 2, 7);
}

/** The ledger section: each hop and direction. */
export function writeLedgers(page: Page, links: readonly HopLedger[]): void {
  page.heading('Ledger: where the time of each link goes, at the expected values');
  page.space();
  page.paragraph(
    'Capital letters: the link carries something. Small letters: it waits, and why. A full stop: ' +
      'nothing asked for it. Every tick is in exactly one account.',
    0,
    'faint',
  );
  for (const hop of links) writeLedger(page, hop);
}
