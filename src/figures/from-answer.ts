/** Figures of an answer: what each stream sustains, and where the time of each link goes. */
import type { Answer, HopLedger } from '../model/answer.ts';
import { formatPercent, formatRate } from '../quantity/index.ts';
import { type AccountBars, accountBars } from './account-bars.ts';
import { pathFigure } from './path.ts';
import { accountTitle, sharesByAccount } from './shares.ts';
import { type Sustained, sustained } from './sustained.ts';

const directionWords = {
  up: 'towards the host',
  down: 'towards the module',
  both: 'both ways',
} as const;
const directionOf = (hop: HopLedger) => directionWords[hop.direction];

/** Sustained against required, every stream of an answer; undefined where nothing was rated. */
export function sustainedFigure(answer: Answer): string | undefined {
  const streams = answer.rate?.streams ?? [];
  if (streams.length === 0) return undefined;
  const rows: Sustained['rows'] = streams.map((s) => ({
    name: s.name,
    level: s.level,
    required: s.required,
    need: s.required * (1 + s.askedHeadroom),
    low: s.sustained.low,
    expected: s.sustained.expected,
    high: s.sustained.high,
    ceiling: s.ceiling,
  }));
  return sustained({ title: titleOf(rows), rows });
}

function titleOf(rows: Sustained['rows']): string {
  const short = rows.filter((r) => r.need > r.low);
  const [first] = short;
  if (first === undefined)
    return 'Every stream sustains what it needs, at the low end of its range';
  if (short.length === 1) {
    return (
      `${first.name} needs ${formatRate(first.need)} with its reserve and is sure of ` +
      formatRate(first.low)
    );
  }
  return `${short.length} of ${rows.length} streams need more than they are sure of`;
}

/** Where the time of links goes, each direction a bar; undefined where nothing was rated. */
export function ledgerFigure(links: readonly HopLedger[], id = 'ledger'): string | undefined {
  const charged = links.filter((hop) => sharesByAccount(hop).length > 0);
  if (charged.length === 0) return undefined;
  const bars: AccountBars['bars'] = charged.map((hop) => {
    const total = Number(hop.total);
    const parts = sharesByAccount(hop).map(({ account, ticks }) => ({
      account,
      amount: Number(ticks) / total,
    }));
    return { label: `${hop.hop}, ${directionOf(hop)}: ${hop.link}`, parts };
  });
  const first = bars[0]!;
  const payload = first.parts.find((p) => p.account === 'payload')?.amount ?? 0;
  const rest = first.parts.filter((p) => p.account !== 'payload' && p.account !== 'idle');
  const largest = rest.reduce((a, b) => (b.amount > a.amount ? b : a), rest[0] ?? first.parts[0]!);
  const title =
    `${formatPercent(payload)} of the first link's time carries data; the largest loss is ` +
    `${accountTitle(largest.account)}, ${formatPercent(largest.amount)}`;
  return accountBars({ title, unit: 'share', bars }, id);
}

/** The path of an answer's first stream, root first, each link with its width and speed. */
export function answerPathFigure({ rate, parts }: Answer): string | undefined {
  const stream = rate?.streams[0];
  if (rate === undefined || stream === undefined) return undefined;
  // A path is given in the direction of the data.
  const path = stream.direction === 'to host' ? [...stream.path].reverse() : stream.path;
  const titles = new Map(parts.map((p) => [p.id, p.title]));
  const links = path.slice(1).map((lower, i) => {
    const hop = rate.links.find((l) => l.hop === `${lower} to ${path[i]}`);
    return hop?.link ?? '';
  });
  const slowest = links.filter((l) => l !== '');
  return pathFigure({
    title: `${path.length - 1} ${path.length === 2 ? 'hop' : 'hops'} from root to module`,
    ...(slowest.length > 0 ? { subtitle: [...new Set(slowest)].join(', then ') } : {}),
    nodes: path.map((name) => ({ name, text: titles.get(name) ?? 'not named in the case' })),
    links,
  });
}
