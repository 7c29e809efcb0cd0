import type { Finding, Level } from '../model/finding.ts';
import { compare, mul, rational, toDecimal } from '../quantity/index.ts';
import { type Rail, rails } from '../system/parts.ts';
import type { Inrush } from '../system/seating.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, product, type Span } from './span.ts';
import { derived, measured, weigh } from './weigh.ts';

const id = 'inrush';
const clause = 'common practice: peak and charge of capacitors within what the supply bears';

/** Ampere seconds as millicoulombs. */
function charge(span: Span): string {
  const [low, high] = [span.low, span.high].map((v) => toDecimal(mul(v, rational(1000)), 4));
  return low === high ? `${low} mC` : `${low}..${high} mC`;
}

const values = (name: string, { peak, duration }: Inrush) => [
  measured(`inrush of ${name}`, peak),
  measured(`duration of the inrush of ${name}`, duration),
];

function open(c: SeatedContext, rail: Rail, need: Inrush | undefined): Finding {
  const gap = `inrush.${rail} of ${need === undefined ? c.module.id : siteText(c)}`;
  return weigh({
    id: `${id}/${rail}`,
    level: 'unknown',
    subject: `${rail} of ${siteText(c)} while ${c.module.id} starts`,
    message: `not given: ${gap}`,
    decidedBy: need ? values(c.module.id, need) : [],
    clause,
    next: `Get ${gap}, or take the current with a probe while it starts.`,
  });
}

function compareRail(c: SeatedContext, rail: Rail, need: Inrush, have: Inrush): Finding {
  const drawn = product(need.peak.value, need.duration.value);
  const borne = product(have.peak.value, have.duration.value);
  const standings = [against(need.peak.value, have.peak.value), against(drawn, borne)] as const;
  const beyond = standings.includes('beyond');
  const level: Level = beyond ? 'stop' : standings.includes('overlap') ? 'unknown' : 'ok';
  const decidedBy = [...values(c.module.id, need), ...values(siteText(c), have)];
  return weigh({
    id: `${id}/${rail}`,
    level,
    subject: `${rail} of ${siteText(c)} while ${c.module.id} starts`,
    message:
      `${need.peak.value.text} for ${need.duration.value.text}, ${charge(drawn)} at most, of ` +
      `${have.peak.value.text} for ${have.duration.value.text}, ${charge(borne)}`,
    decidedBy,
    beside: [derived('charge at most', charge(drawn), decidedBy.slice(0, 2))],
    clause,
    next: {
      ok: '',
      caution: '',
      unknown: `Take the current of ${rail} with a probe while the module starts.`,
      stop: 'The supply may shut down at start. Ask for a build with a slower start, or more supply.',
    }[level],
  });
}

/** Charging of capacitors on each rail; spoken of where module or site states it. */
export const inrushRule: FitRule = {
  id,
  title: 'Inrush',
  clause,
  check: seated((c) =>
    rails.flatMap((rail) => {
      const drawn = c.module.supplies[rail]?.continuous.value;
      if (drawn === undefined || compare(drawn.high, rational(0)) === 0) return [];
      const [need, have] = [c.module.inrush?.[rail], c.site.inrush?.[rail]];
      if (need === undefined && have === undefined) return [];
      if (need === undefined || have === undefined) return [open(c, rail, need)];
      return [compareRail(c, rail, need, have)];
    }),
  ),
};
