/** The rate section of a case whose module sits on a parallel bus. */
import { checkSegment } from '../links/pci/index.ts';
import type { Answer, Assumption, MeasurementCheck, StreamAnswer } from '../model/answer.ts';
import type { Level } from '../model/finding.ts';
import { div, formatRatio, rational, toNumber } from '../quantity/index.ts';
import {
  type BusCase,
  type BusPlan,
  type BusRate,
  busLimits,
  busPlan,
  rateBus,
  refusedBus,
  segmentOf,
} from '../system/bus/index.ts';
import type { Stream } from '../system/case.ts';
import type { StreamRate } from '../system/rate.ts';
import { needOf } from './advise.ts';
import { adviseBus } from './bus-advice.ts';
import { levelOf, message, ofStream, requiredRates, requirement, restsOn } from './streams.ts';

/** A bus case, rated. */
export interface RatedBus {
  readonly plan: BusPlan;
  readonly rate: BusRate;
  readonly section: NonNullable<Answer['rate']>;
}

/** Why a bus case cannot be rated, a sentence each; empty where it can. */
export function busRefusals(of: BusCase): string[] {
  const first = refusedBus(of);
  if (first.length > 0) return first;
  const plan = busPlan(of);
  const { parameters: p } = plan;
  const corners = [p.expected(), p.corner('low'), p.corner('high')];
  const found = corners.flatMap((corner) => checkSegment(segmentOf(plan, plan.at(corner)).config));
  return [...new Set(found)];
}

/** Rates a case that `busRefusals` has nothing against. */
export function rateBusCase(of: BusCase): RatedBus {
  const plan = busPlan(of);
  const rate = rateBus(plan);
  const above = plan.above?.network;
  const assumptions = [
    cameUp(plan),
    ...(plan.above?.decided ?? []),
    ...plan.parameters.assumptions(),
    ...(above?.parameters.assumptions() ?? []),
  ];
  const fabrics = above?.hops.flatMap((hop) => hop.fabric.leavesOut) ?? [];
  return {
    plan,
    rate,
    section: {
      links: rate.links,
      streams: busStreams(plan, rate, assumptions),
      roundings: plan.roundings(),
      limits: [...new Set([...busLimits(plan), ...fabrics])],
    },
  };
}

function cameUp({ of, up, hop, link }: BusPlan): Assumption {
  const by = up.speedBy.length > 0 ? up.speedBy.join(', ') : `the ${up.limitBy}`;
  return {
    name: `${hop}: bus`,
    text: `${link}: ${by} sets the clock`,
    basis: of.segment.limit.basis,
    from: 'derived',
  };
}

function busStreams(plan: BusPlan, rate: BusRate, assumptions: Assumption[]): StreamAnswer[] {
  const { case: c } = plan.of;
  const required = requiredRates(c);
  const needs = c.streams.map((s) => needOf(s.required.value.high, s.headroom.value.high));
  const levels = c.streams.map((s, i) => levelOf(s, rate.streams[i]!));
  const help = levels.every((l) => l === 'ok') ? undefined : adviseBus(plan, required, needs);
  return c.streams.map((stream, s): StreamAnswer => {
    const own = rate.streams[s]!;
    const level = levels[s]!;
    const measured = stream.measured.map((m) => measuredCheck(m, own, plan, s));
    const up = stream.direction.value === 'to host';
    return {
      name: stream.name,
      path: up ? plan.path : [...plan.path].reverse(),
      direction: stream.direction.value,
      level,
      required: required[s]!,
      average: toNumber(div(stream.average.value.high, rational(8))),
      askedHeadroom: toNumber(stream.headroom.value.high),
      sustained: own.sustained,
      ceiling: own.ceiling,
      headroom: own.sustained.low / required[s]! - 1,
      limitedBy: own.limitedBy,
      chain: own.chain,
      ...(own.widenedBy ? { widenedBy: own.widenedBy } : {}),
      assumptions: [requirement(stream), ...ofStream(assumptions, c, stream)],
      ...(measured.length > 0 ? { measured } : {}),
      message: message(level, required[s]!, needs[s]!, own),
      next: level === 'ok' ? restsOn(own.widenedBy) : next(level, own, needs[s]!, help),
    };
  });
}

function next(
  level: Level,
  own: StreamRate,
  need: number,
  help: ReturnType<typeof adviseBus>,
): string {
  const parts: string[] = [];
  const { widenedBy, sustained } = own;
  if (widenedBy && level !== 'stop') {
    parts.push(`${widenedBy.name} decides (${widenedBy.text}): ${widenedBy.ask}`);
  }
  if (help) {
    const lead = help.enough
      ? 'this single change is enough'
      : 'no single change is enough; best is';
    parts.push(`${lead}: ${help.text}`);
  }
  if (!help?.enough) {
    const times = formatRatio(need / sustained.low);
    parts.push(`what binds now (${own.limitedBy[0]!.cause}) would have to allow ${times} as much`);
  }
  return parts.join('. Or ');
}

function measuredCheck(
  m: Stream['measured'][number],
  own: StreamRate,
  plan: BusPlan,
  s: number,
): MeasurementCheck {
  const low = toNumber(div(m.rate.value.low, rational(8)));
  const measured = toNumber(div(m.rate.value.expected, rational(8)));
  const { bytes } = plan.at(plan.parameters.expected()).streams[s]!.stream;
  const { sustained, ceiling } = own;
  const inside = measured >= sustained.low && measured <= sustained.high;
  const beside = measured > sustained.high ? 'above expectation' : 'below expectation';
  return {
    measured,
    reference: m.reference,
    standing: low > ceiling ? 'impossible as stated' : inside ? 'within' : beside,
    difference: measured / sustained.expected - 1,
    wireSeconds: bytes / ceiling,
    measuredSeconds: bytes / measured,
    explainedBy: [],
    possibleWith: [],
  };
}
