/** Ledgers as HTML: an inline bar with every segment lettered, and the exact table beside it. */

import { swatches } from '../../figures/palette.ts';
import {
  accountMarks,
  accountTitle,
  chargedRows,
  shareOut,
  sharesByAccount,
} from '../../figures/shares.ts';
import type { AccountId } from '../../model/accounts.ts';
import type { HopLedger } from '../../model/answer.ts';
import { groupedTicks } from '../text/ledgers.ts';
import { directionText, shareText, ticksAsTime } from '../words.ts';
import { html, type Markup, nothing, table } from './markup.ts';

/** Hundredths of a percent: the unit in which the bar is shared out. */
const full = 10_000;
/** A segment narrower than this, in hundredths of a percent, has no room for its letter. */
const lettered = 250;

const percent = (n: number) => `${n / 100}%`;

/** The pattern tiles of waiting accounts, once in a page. */
export function patternDefinitions(): Markup {
  const tiles = Object.entries(swatches).map(([id, { fill, pattern }]) =>
    pattern === undefined
      ? nothing
      : html`<pattern id="pattern-${id}" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="${fill}"/><path class="pattern-line" d="${pattern}"/></pattern>\n`,
  );
  return html`<svg class="patterns" aria-hidden="true" focusable="false"><defs>
${tiles}</defs></svg>
`;
}

function bar(hop: HopLedger): Markup {
  const shares = sharesByAccount(hop);
  const widths = shareOut(
    full,
    shares.map((s) => s.ticks),
  );
  let x = 0;
  const segments = shares.map(({ account }, i) => {
    const width = widths[i]!;
    const middle = x + width / 2;
    const rect = html`<rect class="fill-${account}" x="${percent(x)}" y="0" width="${percent(width)}" height="100%"/>`;
    const letter =
      width < lettered
        ? nothing
        : html`<text class="ink-${account}" x="${percent(middle)}" y="50%">${accountMarks[account]}</text>`;
    x += width;
    return html`${rect}${letter}`;
  });
  const words = shares
    .map(({ account }, i) => `${accountTitle(account)} ${shareText(widths[i]! / full)}`)
    .join(', ');
  return html`<svg class="ledger" role="img" aria-label="Time of ${hop.hop}, ${directionText(hop.direction)}: ${words}">${segments}</svg>\n`;
}

function key(account: AccountId): Markup {
  return html`<svg class="key" role="img" aria-label="${accountMarks[account]}"><rect class="fill-${account}" width="100%" height="100%"/><text class="ink-${account}" x="50%" y="50%">${accountMarks[account]}</text></svg>`;
}

function hopHtml(hop: HopLedger): Markup {
  const { rows, empty } = chargedRows(hop);
  const rest =
    empty.length === 0
      ? nothing
      : html`<p class="note">Nothing charged to: ${empty.join(', ')}.</p>`;
  return html`<div class="hop">
<h3>${hop.hop}, ${directionText(hop.direction)}</h3>
<p>${hop.link}; window of ${ticksAsTime(hop, hop.total)}, ${groupedTicks(hop.total)} ticks of ${hop.tickRational} s (${ticksAsTime(hop, 1)}).</p>
${bar(hop)}${table(
  `Ledger of ${hop.hop}, ${directionText(hop.direction)}`,
  [
    { title: 'account' },
    { title: 'stream' },
    { title: 'share', number: true },
    { title: 'time', number: true },
    { title: 'ticks', number: true },
  ],
  rows.map((row) => [
    html`<span class="keyed">${key(row.account)} <span>${accountTitle(row.account)}</span></span>`,
    row.stream ?? '',
    shareText(row.share),
    ticksAsTime(hop, row.ticks),
    groupedTicks(row.ticks),
  ]),
)}${rest}</div>
`;
}

/** The ledger section's content. */
export function ledgersHtml(links: readonly HopLedger[]): Markup {
  return html`<p>Where the time of each link goes, each direction on its own, at the expected values. Solid
segments carry something; patterned ones wait. Every tick is in exactly one account.</p>
${links.map(hopHtml)}`;
}
