/** The figure of two cases side by side: where the time of the link that binds goes. */
import type { CompareDocument } from '../model/compare.ts';
import { formatRate } from '../quantity/index.ts';
import { accountBars } from './account-bars.ts';

/** Both links as bars by account; undefined where nothing was rated. */
export function compareFigure(doc: CompareDocument): string | undefined {
  const { links, accounts, streams } = doc;
  if (!links) return undefined;
  const end = (side: 'before' | 'after') => {
    const rates = streams.flatMap((s) => (s[side] ? [s[side].sustained.expected] : []));
    return formatRate(rates.reduce((sum, r) => sum + r, 0));
  };
  const bars = (['before', 'after'] as const).map((side) => ({
    label: `${side}: ${links[side].hop}, ${links[side].link}`,
    parts: accounts.map((a) => ({ account: a.account, amount: a[side] })),
    end: end(side),
  }));
  const title = `${end('before')} before, ${end('after')} after, all streams together`;
  return accountBars({ title, unit: 'share', bars }, 'compare');
}
