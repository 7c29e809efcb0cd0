/** Both ledgers of each link as text, and the reasons why they differ. */

import { accountTitle } from '../../figures/shares.ts';
import { accountIndex } from '../../model/accounts.ts';
import type { LedgerRow } from '../../model/answer.ts';
import type { SimulatedLink } from '../../model/simulation.ts';
import { formatPercent } from '../../quantity/index.ts';
import { directionText, shareText } from '../words.ts';
import type { Page } from './page.ts';

/** Least difference that is written as a number, a fraction of one. */
const leastShown = 0.000001;

/** `+0.0012 %`, `equal`, or `< 0.0001 %` for what is not equal and too small to show. */
export function differenceText(fraction: number): string {
  if (fraction === 0) return 'equal';
  const size = Math.abs(fraction);
  const sign = fraction < 0 ? '-' : '+';
  return size < leastShown ? `${sign}< 0.0001 %` : `${sign}${formatPercent(size, 4)}`;
}

/** Sentences that many rows share, by number in order of first use. */
class Reasons {
  readonly list: string[] = [];

  /** `[1]`, `[1] [3]`, or nothing where there is no reason. */
  refer(because: readonly string[]): string {
    const numbers = because.map((reason) => {
      const known = this.list.indexOf(reason);
      return known >= 0 ? known + 1 : this.list.push(reason);
    });
    return numbers.map((number) => `[${number}]`).join(' ');
  }
}

/** The section of all links. */
export function writeLinks(page: Page, links: readonly SimulatedLink[]): void {
  page.heading('Ledgers, closed form and simulation');
  page.paragraph('Shares of the window, and how far they are apart.');
  const reasons = new Reasons();
  for (const link of links) writeLink(page, link, reasons);
  const digits = `[${reasons.list.length}]`.length;
  page.space();
  for (const [i, reason] of reasons.list.entries()) {
    page.labelled(`[${i + 1}]`, reason, 0, digits);
  }
}

/** Both ledgers of one direction, row by row; equal ones too, so that each sums to the whole. */
function writeLink(page: Page, link: SimulatedLink, reasons: Reasons): void {
  page.space();
  page.paragraph(`${link.hop}, ${directionText(link.direction)}`);
  page.paragraph(link.link, 2);
  page.table(
    [
      { title: 'account', least: 16 },
      { title: 'stream', least: 8 },
      { title: 'closed form', align: 'right' },
      { title: 'simulated', align: 'right' },
      { title: 'difference', align: 'right' },
      { title: 'why' },
    ],
    rowsOf(link, reasons),
    2,
  );
}

/** Every account of either ledger, in list order. */
function rowsOf(
  { closedForm, simulated, differences }: SimulatedLink,
  reasons: Reasons,
): string[][] {
  const keyOf = (row: { account: string; stream?: string }) => `${row.account} ${row.stream ?? ''}`;
  const differing = new Map(differences.map((d) => [keyOf(d), d]));
  const shares = new Map<string, { row: LedgerRow; shares: [number, number] }>();
  for (const [side, { ledger }] of [closedForm, simulated].entries()) {
    for (const row of ledger) {
      const known = shares.get(keyOf(row)) ?? { row, shares: [0, 0] };
      known.shares[side === 0 ? 0 : 1] += row.share;
      shares.set(keyOf(row), known);
    }
  }
  return [...shares]
    .sort(([, a], [, b]) => accountIndex[a.row.account] - accountIndex[b.row.account])
    .map(([key, { row, shares: both }]) => {
      const apart = differing.get(key);
      return [
        accountTitle(row.account),
        row.stream ?? '',
        ...both.map(shareText),
        differenceText(apart ? apart.simulated - apart.closedForm : 0),
        reasons.refer(apart?.because ?? []),
      ];
    });
}
