import { type Finding, type FindingValue, type Level, worse } from '../model/finding.ts';
import {
  compare,
  div,
  isExact,
  mul,
  type Rational,
  rational,
  toDecimal,
} from '../quantity/index.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { powerPinsRows, siteLimitsRow } from '../standards/mezzanine-power.ts';
import { type Rail, type RailDemand, rails } from '../system/parts.ts';
import { type PinCeiling, pinCeiling } from './pin-ceiling.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, lower, type Standing, spanText } from './span.ts';
import { measured, weigh } from './weigh.ts';

const id = 'supply';

const levelOf: Readonly<Record<Standing, Level>> = {
  within: 'ok',
  overlap: 'unknown',
  beyond: 'stop',
};

/** Peak against peak; without a peak of the site its continuous current has to cover it. */
function peakStanding(demand: RailDemand, supply: RailDemand): Level {
  if (demand.peak === undefined) return 'ok';
  if (supply.peak !== undefined) return levelOf[against(demand.peak.value, supply.peak.value)];
  return against(demand.peak.value, supply.continuous.value) === 'within' ? 'ok' : 'unknown';
}

/** A wide VPWR input draws less at 12 V than at 5 V, and a part gives one current. */
function ambiguous(c: SeatedContext, rail: Rail): boolean {
  const accepts = c.module.vpwr_accepts?.value;
  if (rail !== 'VPWR' || accepts === undefined || isExact(accepts)) return false;
  return compare(div(accepts.high, accepts.low), rational(3, 2)) > 0;
}

/**
 * One power takes the more current the lower the voltage: what the stated current would be at the
 * other end of the input, were it stated at this one. 12 V to 5 V is a factor of 2.4.
 */
function otherEnd(c: SeatedContext, demand: RailDemand): string {
  const accepts = c.module.vpwr_accepts!.value;
  const ratio = div(accepts.high, accepts.low);
  const { value } = demand.continuous;
  const volts = (v: Rational) => `${toDecimal(v, 4)} V`;
  const most = toDecimal(mul(value.high, ratio), 4);
  return `; stated at ${volts(accepts.high)} it would be ${most} A at ${volts(accepts.low)}`;
}

/** More than the share of the pins' rating that is usual, where no policy says another. */
function overworked(demand: RailDemand, ceiling: PinCeiling | undefined): boolean {
  const usual = ceiling?.usual?.span;
  return usual !== undefined && against(demand.continuous.value, usual) !== 'within';
}

/** `3.3V rail of site A of keel-3u for tern-256`. */
function railText(c: SeatedContext, rail: Rail): string {
  return `${rail} rail of ${siteText(c)} for ${c.module.id}`;
}

function missingRail(c: SeatedContext, rail: Rail, need: FindingValue): Finding {
  const listed = rails.filter((r) => c.site.supplies[r] !== undefined);
  const none = listed.length === 0;
  return weigh({
    id: `${id}/${rail}`,
    level: none ? 'unknown' : 'stop',
    subject: railText(c, rail),
    message: none
      ? `the module draws ${need.text}; the site's currents are not given`
      : `the module draws ${need.text}; the site supplies ${listed.join(', ')} and no ${rail}`,
    decidedBy: [need],
    clause: citation(siteLimitsRow),
    next: none
      ? `Get the currents by rail of ${siteText(c)} from its data sheet.`
      : `Choose a site that supplies ${rail}, or a module build without it.`,
  });
}

/** Whether the part lists a connector with power pins at all; without one no pin can be missed. */
function listsPower(c: SeatedContext): boolean {
  return powerPinsRows.some((row) => c.module.connectors[row.connector] !== undefined);
}

function noPin(c: SeatedContext, rail: Rail, need: FindingValue): Finding {
  const connectors = Object.keys(c.module.connectors).sort().join(', ');
  return weigh({
    id: `${id}/${rail}`,
    level: 'stop',
    subject: railText(c, rail),
    message: `no pin of ${connectors} carries ${rail}`,
    decidedBy: [need],
    clause: 'ANSI/VITA 42.3 and IEEE 1386.1 power pins',
    next: `Correct the module's part: name the rail its connectors carry, such as VPWR.`,
  });
}

function message(
  demand: RailDemand,
  supply: RailDemand,
  levels: { limit: Level; peak: Level },
): string {
  const words = `draws ${demand.continuous.value.text} of ${supply.continuous.value.text}`;
  if (levels.peak === 'ok' || demand.peak === undefined) return words;
  const peak = supply.peak?.value.text ?? 'a peak not given';
  return `${words}; peak ${demand.peak.value.text} of ${peak}`;
}

function nextStep(level: Level, rail: Rail, peakOpen: boolean): string {
  if (level === 'ok') return '';
  if (level === 'stop') {
    return `Choose a carrier that supplies more on ${rail}, or a module build that draws less.`;
  }
  if (peakOpen) return `Get the peak current of ${rail} at the site from its data sheet.`;
  return `Get the one figure behind the range: the current of ${rail}, measured or guaranteed.`;
}

function checkRail(c: SeatedContext, rail: Rail, demand: RailDemand): Finding {
  const need = measured(`${rail} current of ${c.module.id}`, demand.continuous);
  const supply = c.site.supplies[rail];
  const ceiling = pinCeiling(c, rail);
  if (ceiling === undefined && listsPower(c)) return noPin(c, rail, need);
  if (supply === undefined) return missingRail(c, rail, need);
  const have = supply.continuous.value;
  const limit = ceiling === undefined ? have : lower(have, ceiling.span);
  const deciding = ceiling && compare(ceiling.span.low, have.low) < 0 ? ceiling : undefined;
  const levels = {
    limit: levelOf[against(demand.continuous.value, limit)],
    peak: peakStanding(demand, supply),
  };
  const level = worse(levels.limit, levels.peak);
  const supplied = measured(`${rail} current of ${siteText(c)}`, supply.continuous);
  const peaks = [
    ...(demand.peak ? [measured(`${rail} peak of ${c.module.id}`, demand.peak)] : []),
    ...(supply.peak ? [measured(`${rail} peak of ${siteText(c)}`, supply.peak)] : []),
  ];
  const vague = level === 'ok' && ambiguous(c, rail);
  const hard = level === 'ok' && !vague && overworked(demand, ceiling);
  const words = message(demand, supply, levels);
  return weigh({
    id: `${id}/${rail}`,
    level: vague || hard ? 'caution' : level,
    subject: railText(c, rail),
    message:
      `${words}${deciding ? `; the pins carry ${spanText(deciding.span, 'A')}` : ''}` +
      (vague ? otherEnd(c, demand) : hard ? `; the pins: ${ceiling!.usual!.text}` : ''),
    decidedBy: [
      need,
      ...(deciding ? [deciding.value] : [supplied]),
      ...(hard ? [ceiling!.usual!] : []),
      ...peaks,
    ],
    beside: deciding ? [supplied] : ceiling ? [ceiling.value] : [],
    clause: citation(siteLimitsRow),
    next: vague
      ? 'Ask at which VPWR voltage the current is stated: 5 V takes 2.4 times the current of 12 V.'
      : hard
        ? 'Agree a derating policy for connectors, or spread the current over more pins.'
        : nextStep(level, rail, levels.peak === 'unknown' && supply.peak === undefined),
  });
}

/** Current by rail: continuous against continuous, peak against peak, and the pins' ceiling. */
export const supplyCurrentRule: FitRule = {
  id,
  title: 'Current by rail',
  clause: `${citation(siteLimitsRow)}; pins: ANSI/VITA 42.3, IEEE 1386.1`,
  check: seated((c) => {
    const drawn = rails.flatMap((rail) => {
      const demand = c.module.supplies[rail];
      return demand === undefined ? [] : [checkRail(c, rail, demand)];
    });
    if (drawn.length > 0) return drawn;
    return [
      weigh({
        id,
        level: 'unknown',
        subject: `currents of ${c.module.id}`,
        message: 'the currents the module draws are not given',
        decidedBy: [],
        clause: citation(siteLimitsRow),
        next: `Get the currents by rail of ${c.module.id} from its data sheet.`,
      }),
    ];
  }),
};
