import { waferContacts, waferRow } from '../../standards/rear/index.ts';
import { type RearConnector, rearConnectors } from '../../system/pins.ts';
import { gathered, type Judged, judge, type PinVerdict } from '../pins/gather.ts';
import { meetings, type PinMeeting, routeOf } from '../pins/meet.ts';
import { type FitRule, type SeatedContext, seated } from '../rule.ts';
import { tabled } from '../weigh.ts';
import type { RearContact, RearRoute } from './routes.ts';

const id = 'rear-pairs';
const clause = 'common practice, no source: pairs leave by pairs of the backplane connector';

/** Pair of a VPX connector that a contact belongs to: `P2 wafer 9, pair 1`. */
function backplanePair(contact: string): string | undefined {
  const [, connector, row, wafer] = /^(P\d{1,2})-([A-G])(\d{1,2})$/.exec(contact) ?? [];
  if (connector === undefined) return undefined;
  const use = waferContacts(Number(wafer)).find((w) => w.row === row)?.use;
  return use?.startsWith('pair') ? `${connector} ${wafer} ${use.slice(0, 6)}` : undefined;
}

function together(a: RearContact, b: RearContact, vpx: boolean): PinVerdict {
  const by = [a.from, b.from];
  if (a.kind === 'single-ended' || b.kind === 'single-ended') {
    return {
      level: 'caution',
      why: `pairs over ${a.by}, a single-ended pattern`,
      next: 'Ask for the skew and the impedance of these tracks: the pattern promises neither.',
      by,
    };
  }
  // On other backplanes contacts have no fixed pairing.
  if (!vpx) return { level: 'ok', why: 'routed together', next: '', by };
  const pair = backplanePair(a.contact);
  if (pair !== undefined && pair === backplanePair(b.contact)) {
    return { level: 'ok', why: 'one pair of the backplane', next: '', by };
  }
  return {
    level: 'caution',
    why: 'halves of a pair on contacts that are no pair',
    next: 'Check the map: the backplane routes pairs of contacts together, and these are not one.',
    by: [...by, tabled('contacts of a wafer', 'odd and even', waferRow)],
  };
}

function verdictOf(
  route: RearRoute | undefined,
  vpx: boolean,
  { module, pin }: PinMeeting,
): PinVerdict | undefined {
  if (module?.use.value !== 'signal' || module.polarity !== 'p') return undefined;
  const [a, b] = [route?.contacts.get(pin), route?.contacts.get(module.mate ?? '')];
  return a && b ? together(a, b, vpx) : undefined;
}

/** What this rule says of each pair, at its p pin. */
export function rearPairsOf(
  c: SeatedContext,
  connector: RearConnector,
  all: readonly PinMeeting[],
): readonly Judged[] {
  const route = routeOf(c, connector);
  const vpx = /VPX/i.test(c.carrier.board);
  return judge(all, (m) => verdictOf(route, vpx, m));
}

/** Pairs of the module stay pairs on the backplane. */
export const rearPairsRule: FitRule = {
  id,
  title: 'Pairs kept together to the rear',
  clause,
  check: seated((c) =>
    rearConnectors.flatMap((connector) => {
      const holds = 'both halves of each pair leave together';
      const what = 'pairs to the rear';
      const head = { id, what, unit: 'pairs' as const, clause, holds };
      return gathered(c, connector, head, rearPairsOf(c, connector, meetings(c, connector)));
    }),
  ),
};
