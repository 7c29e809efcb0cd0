/** What to change first on a parallel bus: single changes, each rated in full, cheapest first. */
import { formatRate, type Quantity, quantity, toNumber } from '../quantity/index.ts';
import {
  type BusCase,
  type BusPlan,
  busCase,
  busPlan,
  busSustainedAt,
} from '../system/bus/index.ts';
import type { Case } from '../system/case.ts';
import type { GivenQuantity } from '../system/given.ts';
import type { CardBus, SiteBus } from '../system/pci.ts';
import { worstHeadroom } from './advise.ts';
import { headroomWords } from './headroom.ts';

interface BusCandidate {
  readonly words: string;
  readonly changed: Case;
}

/** The first single change that gives every stream its need, or else the one that helps most. */
export function adviseBus(
  plan: BusPlan,
  required: readonly number[],
  needs: readonly number[],
): { readonly enough: boolean; readonly text: string } | undefined {
  const now = busSustainedAt(plan, 'low');
  let best: { low: number[]; words: string } | undefined;
  const said = (words: string, low: readonly number[]) => {
    const rates = plan.of.case.streams.map(
      (s, i) => `${s.name} ${formatRate(low[i]!)} (${headroomWords(low[i]! / required[i]! - 1)})`,
    );
    return `${words}: ${rates.join(', ')}`;
  };
  for (const { words, changed } of candidates(plan.of)) {
    const of = busCase(changed);
    if (!of) continue;
    const low = busSustainedAt(busPlan(of), 'low');
    if (needs.every((need, s) => low[s]! >= need)) return { enough: true, text: said(words, low) };
    const better = worstHeadroom(low, required) > worstHeadroom(best?.low ?? now, required);
    if (better) best = { low, words };
  }
  return best && { enough: false, text: said(best.words, best.low) };
}

function candidates(b: BusCase): BusCandidate[] {
  return [...fewerDevices(b), ...longerBursts(b), ...moreReads(b), ...fasterBus(b), ...noPause(b)];
}

function withCard({ case: c, card }: BusCase, change: Partial<CardBus>): Case {
  return { ...c, module: { ...c.module, pci: { ...card, ...change } } };
}

function withSegment({ case: c, site, segment }: BusCase, change: Partial<SiteBus>): Case {
  const pci = { ...segment, ...change };
  return { ...c, carrier: { ...c.carrier!, site: { ...site, pci } } };
}

function given(like: { place: GivenQuantity['place'] }, value: Quantity): GivenQuantity {
  return { value, basis: 'assumed', place: like.place, from: 'case' };
}

function fewerDevices(b: BusCase): BusCandidate[] {
  if (b.segment.devices.length === 0) return [];
  const words = 'the module alone on its segment';
  return [{ words, changed: withSegment(b, { devices: [] }) }];
}

function longerBursts(b: BusCase): BusCandidate[] {
  const { burst } = b.card;
  if (!burst) return [];
  const now = toNumber(burst.value.expected) / 8;
  return [1024, 2048, 4096]
    .filter((n) => n > now && n <= 8 * now)
    .map((n) => ({
      words: `bursts of ${n} B instead of ${now} B`,
      changed: withCard(b, { burst: given(burst, quantity(`${n} B`, 'size')) }),
    }));
}

function moreReads(b: BusCase): BusCandidate[] {
  const now = b.card.outstanding_splits;
  if (!now || !b.case.streams.some((s) => s.direction.value === 'from host')) return [];
  const count = toNumber(now.value.expected);
  return [2, 4, 8]
    .filter((n) => n > count)
    .map((n) => ({
      words: `${n} split reads outstanding instead of ${count}`,
      changed: withCard(b, { outstanding_splits: given(now, quantity(String(n), 'count')) }),
    }));
}

function fasterBus(b: BusCase): BusCandidate[] {
  const { limit } = b.segment;
  if (limit.value === 'PCI-X 133' || b.card.mode.value !== 'PCI-X 133') return [];
  const words = `a segment that runs at PCI-X 133 instead of ${limit.value}`;
  return [{ words, changed: withSegment(b, { limit: { ...limit, value: 'PCI-X 133' } }) }];
}

function noPause(b: BusCase): BusCandidate[] {
  const { overhead, request_after: after, ...rest } = b.card;
  const pause = overhead ?? after;
  if (!pause) return [];
  const pci = { ...rest, request_after: given(pause, quantity('1', 'count')) };
  const words = `an engine of ${b.case.module.id} that asks for the bus again at once`;
  return [{ words, changed: { ...b.case, module: { ...b.case.module, pci } } }];
}
