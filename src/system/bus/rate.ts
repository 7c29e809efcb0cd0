/**
 * Rates of a case on a parallel bus: sustained low, expected and high, the ceiling, what binds in
 * order, and the ledgers of the bus and of the links above its bridge.
 */
import { rateOf, type SingleMaster, steady } from '../../links/pci/index.ts';
import type { AccountId } from '../../model/accounts.ts';
import type { HopLedger, LimitStep, Widener } from '../../model/answer.ts';
import { min, type Rational, toNumber } from '../../quantity/index.ts';
import { pcixLimits } from '../../standards/pci-bus.ts';
import { evaluate } from '../evaluate.ts';
import { ledgersOf } from '../ledgers.ts';
import type { Corner } from '../parameters.ts';
import {
  bytesPerSecond,
  type NetworkRate,
  rateNetwork,
  type StreamRate,
  sustainedAt,
} from '../rate.ts';
import { scanned } from '../scan.ts';
import { type BusEvaluation, evaluateBus } from './evaluate.ts';
import { busLedger } from './ledger.ts';
import { causeOf, heaviest, type Lifted, lifted } from './lifts.ts';
import type { BusPlan } from './plan.ts';

export interface BusRate {
  readonly streams: readonly StreamRate[];
  readonly links: readonly HopLedger[];
  readonly center: BusEvaluation;
  /** The links above the bridge, rated on their own. */
  readonly above: NetworkRate | undefined;
}

/** Bytes a second of each stream on the bus with every unknown at its low or high end. */
export function busSustainedAt(plan: BusPlan, end: 'low' | 'high'): number[] {
  const at = (corner: Corner) => ratesAt(plan, corner);
  const choose = end === 'low' ? Math.min : Math.max;
  const bus = scanned(plan, plan.parameters.corner(end), at, choose);
  if (!plan.above) return bus;
  const links = sustainedAt(plan.above.network, end);
  return bus.map((rate, s) => Math.min(rate, links[s]!));
}

function ratesAt(plan: BusPlan, corner: Corner): number[] {
  return evaluateBus(plan, corner).rates.map(toNumber);
}

/** Rates a plan in full. */
export function rateBus(plan: BusPlan): BusRate {
  const center = evaluateBus(plan, plan.parameters.expected());
  const above = plan.above && rateNetwork(plan.above.network);
  const lows = busSustainedAt(plan, 'low');
  const highs = busSustainedAt(plan, 'high');
  const exact = above && bytesPerSecond(above.center);
  const own = center.rates.map((rate, s) => {
    const link = exact?.[s];
    return link === undefined ? rate : min(rate, link);
  });
  const expected = own.map(toNumber);
  const wideners = widest(plan, expected, above);
  const streams = expected.map((rate, s): StreamRate => {
    const chain = chainOf(plan, center, above, s);
    const [{ rate: _, ...first }] = chain as [LimitStep, ...LimitStep[]];
    return {
      sustained: {
        low: Math.min(lows[s]!, rate),
        expected: rate,
        high: Math.max(highs[s]!, rate),
        kind: 'bound',
      },
      ceiling: ceilingOf(plan, s, above),
      limitedBy: [first],
      chain,
      ...(wideners[s] ? { widenedBy: wideners[s] } : {}),
    };
  });
  const links = [busLedger(plan, center, own), ...linksAbove(above, own)];
  return { streams, links, center, above };
}

/** Ledgers of the links above at the rates that come about: the bus may hold streams below theirs. */
function linksAbove(above: NetworkRate | undefined, rates: readonly Rational[]): HopLedger[] {
  if (!above) return [];
  const { network, corner } = above.center;
  const streams = network.streams.map((stream, s) => {
    const most = rates[s];
    return most === undefined ? stream : { ...stream, most };
  });
  return ledgersOf(evaluate({ ...network, streams }, corner));
}

/** For each stream the unknown that alone moves its rate most: of the bus, or of the links above. */
function widest(plan: BusPlan, expected: readonly number[], above: NetworkRate | undefined) {
  const found: (Widener | undefined)[] = expected.map((_, s) => {
    const link = above?.streams[s]?.widenedBy;
    return link && link.low < expected[s]!
      ? { ...link, high: Math.min(link.high, expected[s]!) }
      : undefined;
  });
  const { parameters } = plan;
  const capped = (rates: readonly number[]) =>
    rates.map((r, s) => Math.min(r, above?.streams[s]?.sustained.expected ?? r));
  const at = (corner: Corner) => capped(ratesAt(plan, corner));
  for (const index of parameters.unknowns()) {
    const { title, text, ask } = parameters.entries[index]!;
    const only = new Set([index]);
    const low = scanned(plan, parameters.alone(index, 'low'), at, Math.min, only);
    const high = scanned(plan, parameters.alone(index, 'high'), at, Math.max, only);
    expected.forEach((middle, s) => {
      const [least, most] = [Math.min(low[s]!, middle), Math.max(high[s]!, middle)];
      const known = found[s];
      if (most - least <= middle * 1e-6 || (known && known.high - known.low >= most - least))
        return;
      found[s] = { name: title, text: text(), low: least, high: most, ask };
    });
  }
  return found;
}

const chainLongest = 4;

/** What binds a stream now, and with each limit found so far lifted what binds next. */
function chainOf(
  plan: BusPlan,
  center: BusEvaluation,
  above: NetworkRate | undefined,
  s: number,
): LimitStep[] {
  const steps: LimitStep[] = [];
  const done: Lifted[] = [];
  const link = above?.streams[s];
  const corner = plan.parameters.expected();
  let [withOthers, withStages, withLinks] = [true, true, link !== undefined];
  let e = center;
  while (steps.length < chainLongest) {
    const rate = toNumber(e.rates[s]!);
    const hold = e.holds[s]!;
    const add = (account: AccountId, cause: string, at = rate) =>
      steps.push({ account, hop: plan.hop, direction: 'both', cause, rate: at });
    if (withLinks && link!.sustained.expected <= rate) {
      steps.push({ ...link!.limitedBy[0]!, rate: link!.sustained.expected });
      withLinks = false;
      continue;
    }
    if (hold.kind === 'stage') {
      add('idle', hold.cause!);
      withStages = false;
    } else if (hold.kind === 'others') {
      add('arbitration', othersCause(e));
      withOthers = false;
    } else {
      const id = heaviest(e, s, done);
      if (!id) {
        add('payload', `the bus is full: ${plan.link}`);
        return steps;
      }
      add(id, causeOf(id, e.at, s));
      done.push({ id, streams: hold.streams });
    }
    const [others, stages] = [withOthers, withStages];
    e = evaluateBus(plan, corner, (at) => {
      const changed = lifted(at, done);
      return {
        ...changed,
        devices: others ? changed.devices : [],
        stages: stages ? changed.stages : [],
      };
    });
  }
  return steps;
}

function othersCause({ others }: BusEvaluation): string {
  const names = others.map(({ device }) => device.name).join(', ');
  return `the bus is full: turns of ${names} stand between`;
}

/** The stream alone on the bus, and on the links above, at the cheapest legal choice of all. */
function ceilingOf(plan: BusPlan, s: number, above: NetworkRate | undefined): number {
  const corner = plan.parameters.corner('high');
  const single = cheapest(plan.at(corner).streams[s]!);
  const bus = toNumber(rateOf(single.bus, steady(single)));
  return Math.min(bus, above?.streams[s]?.ceiling ?? bus);
}

/** Longest bursts, no late clock, GNT# kept: what the standard leaves open at its cheapest. */
export function cheapest(single: SingleMaster): SingleMaster {
  const pcix = single.bus.speed.startsWith('pcix');
  const { master, target, stream, bus } = single;
  const write = stream.kind === 'write';
  return {
    bus: {
      ...bus,
      terminationClocks: 0,
      arbiter: { rule: 'rotating', grantClocks: 1, parking: 'last' },
    },
    master: {
      ...master,
      burstBytes: pcix ? pcixLimits.sequence.bytes : stream.bytes,
      boundaryBytes: 0,
      initialWait: 0,
      subsequentWait: 0,
      keepsRequest: true,
      requestAfter: 1,
      fastBackToBack: !pcix && write,
      retryPause: 0,
    },
    target: {
      ...target,
      decode: pcix ? 'A' : 'fast',
      initialWait: 0,
      subsequentWait: 0,
      disconnectAt: { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 },
      reads: 'immediate',
      widthBits: bus.widthBits,
    },
    stream: {
      ...stream,
      address: 0,
      gap: 0,
      command: write ? 'write' : pcix ? 'read line' : 'read multiple',
    },
  };
}
