import type { Finding, FindingValue, Level } from '../model/finding.ts';
import {
  compare,
  mul,
  type Rational,
  rational,
  sub,
  toDecimal,
  toNumber,
} from '../quantity/index.ts';
import { junctionMarginRow } from '../standards/thermal-policy.ts';
import type { HotPart } from '../system/thermal.ts';
import { type HeatPath, heatPath, mostPower, terms } from './heat-path.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { type Factor, type Influence, influences, perUnit, spread } from './sensitivity.ts';
import { against, type Span } from './span.ts';
import { derived, measured, tabled, weigh } from './weigh.ts';

const id = 'heat';
const ice = rational(27315, 100);
const clause = 'common practice: heat in series from junction to cold wall or air';

/** Four significant digits: no thermal resistance is known better. */
const kelvinText = (kelvin: Rational) => toDecimal(kelvin, 4);
const celsius = (kelvin: Rational) => `${kelvinText(sub(kelvin, ice))} °C`;

function celsiusText({ low, high }: Span): string {
  const [from, to] = [celsius(low), celsius(high)];
  return from === to ? from : `${from.slice(0, -3)}..${to}`;
}

/** What the junction is held against: stated by part or case, or the practice row. */
interface Ceiling {
  readonly span: Span;
  readonly values: readonly FindingValue[];
  /** A ceiling that nobody asked for warns and does not refuse. */
  readonly asked: boolean;
}

function ceilingOf(c: SeatedContext, name: string, part: HotPart): Ceiling {
  const limit = measured(`junction limit of ${name}`, part.junction_limit);
  if (part.ceiling !== undefined) {
    const values = [measured(`ceiling of ${name}`, part.ceiling), limit];
    return { span: part.ceiling.value, values, asked: true };
  }
  const margin = c.case.policy?.junction_margin;
  const row = rational(junctionMarginRow.kelvin);
  const taken = margin?.value ?? { low: row, high: row };
  const { low, high } = part.junction_limit.value;
  const span = { low: sub(low, taken.high), high: sub(high, taken.low) };
  const policy = margin
    ? measured('margin below the limit', margin)
    : tabled('margin below the limit', `${junctionMarginRow.kelvin} K`, junctionMarginRow);
  return { span, values: [limit, policy], asked: margin !== undefined };
}

function levelOf(c: Ceiling, junction: Span, limit: Span): Level {
  if (against(junction, limit) === 'beyond') return 'stop';
  const standing = against(junction, c.span);
  if (standing === 'within') return 'ok';
  if (standing === 'overlap') return 'unknown';
  return c.asked ? 'stop' : against(junction, limit) === 'within' ? 'caution' : 'unknown';
}

/** The resistances: what each gives now, for each further K/W, and of the uncertainty. */
function resistanceValues(path: HeatPath, all: readonly Influence[]): readonly FindingValue[] {
  return path.resistances.map((key) => {
    const factor = factorOf(path, key);
    const per = perUnit(path.formula, path.factors, key, rational(1));
    const { share } = all.find((i) => i.factor.key === key)!;
    const now = kelvinText(mul(per, factor.range.expected));
    const exact = all.every((i) => i.width.n === 0n);
    const part = exact
      ? 'nothing is stated as a range'
      : `${Math.round(toNumber(share) * 100)} % of the uncertainty`;
    const text =
      `${now} K of the rise at ${factor.value.text}, ` +
      `${kelvinText(per)} K more for each K/W; ${part}`;
    return derived(`weight of ${factor.value.name}`, text, [factor.value]);
  });
}

/** Not the modules beside this one where there are none. */
const isThere = ({ key, range }: Factor) => key !== 'others' || range.high.n !== 0n;

function factorOf(path: HeatPath, key: string): Factor {
  const found = path.factors.find((f) => f.key === key);
  if (found === undefined) throw new RangeError(`heat path: no ${key}`);
  return found;
}

/** `fpga at 107.1 °C against 105 °C: 71 °C edge + 7.845 K wedge locks + 14.3 K frame + 14 K part`. */
function message(name: string, path: HeatPath, junction: Span, ceiling: Span): string {
  const start = factorOf(path, path.kind === 'air' ? 'inlet' : 'edge');
  const legs = terms(path).map(({ name, kelvin }) => `${kelvinText(kelvin)} K ${name}`);
  const from = `${celsius(start.range.expected)} ${path.kind === 'air' ? 'inlet' : 'edge'}`;
  const held = `${name} at ${celsiusText(junction)} against ${celsiusText(ceiling)}`;
  return `${held}: ${[from, ...legs].join(' + ')}`;
}

/** What would be claimed if the module were alone on the wedge locks. */
function forgotten(path: HeatPath): FindingValue[] {
  if (path.kind !== 'conduction') return [];
  const alone = path.formula((key) => {
    const { range } = factorOf(path, key);
    return key === 'carrier' || key === 'others' ? rational(0) : range.expected;
  });
  const from = [factorOf(path, 'carrier').value, factorOf(path, 'locks').value];
  return [derived('claimed if the carrier were forgotten', celsius(alone), from)];
}

function checkPart(c: SeatedContext, name: string, part: HotPart): Finding {
  const head = { id: `${id}/${name}`, subject: `junction of ${name} on ${c.module.id}` };
  const path = heatPath(c, name, part);
  if ('missing' in path) {
    return weigh({
      ...head,
      level: 'unknown',
      message: `not given: ${path.missing.join(', ')}`,
      decidedBy: [],
      clause,
      next: `Get ${path.missing.join(', ')}, as ranges where they are not known exactly.`,
    });
  }
  const junction = spread(path.formula, path.factors);
  const ceiling = ceilingOf(c, name, part);
  const level = levelOf(ceiling, junction, part.junction_limit.value);
  const ranked = influences(path.formula, path.factors);
  const most = mostPower(path, ceiling.span.low);
  const power = factorOf(path, 'module').value;
  const room =
    compare(most, rational(0)) <= 0
      ? 'no module power passes with the values at their worst'
      : `up to ${kelvinText(most)} W of module power passes with the values at their worst`;
  const values = path.factors.filter(isThere).map((f) => f.value);
  return weigh({
    ...head,
    level,
    message: message(name, path, junction, ceiling.span),
    decidedBy: [...values, ...path.rests, ...ceiling.values],
    beside: [
      derived(`junction temperature of ${name}`, celsiusText(junction), values),
      derived('module power that passes', room, [power, ...values]),
      ...resistanceValues(path, ranked),
      ...forgotten(path),
    ],
    clause: path.clause,
    next: nextStep(level, room, ranked[0]!),
  });
}

function nextStep(level: Level, room: string, first: Influence): string {
  if (level === 'ok') return '';
  if (level === 'unknown') {
    const share = Math.round(toNumber(first.share) * 100);
    return `${first.factor.measure} ${first.factor.value.name} makes ${share} % of the range.`;
  }
  if (level === 'caution') {
    return `Above the usual margin, below the maker's limit: agree a ceiling, or cool better; ${room}.`;
  }
  return `Lower the power, or a resistance by its weight, or the reference; ${room}.`;
}

/** Junctions of the module's hot parts, in its slot with everything else that warms it. */
export const heatRule: FitRule = {
  id,
  title: 'Junction temperatures',
  clause,
  check: seated((c) => {
    const { slot } = c;
    // Without a slot `cooling-slot` is unknown, and says so once.
    if (slot === undefined) return [];
    // Nothing cools a build that is not made for its place; `cooling-…` speaks of it.
    const kinds = [c.module.cooling.value, c.site.cooling.value, slot.cooling.value];
    if (new Set(kinds).size > 1) return [];
    const parts = Object.entries(c.module.hot_parts ?? {});
    if (parts.length > 0) return parts.map(([name, part]) => checkPart(c, name, part));
    return [
      weigh({
        id,
        level: 'unknown',
        subject: `junctions of ${c.module.id}`,
        message: 'no hot_parts given: no temperature can be worked out',
        decidedBy: [],
        clause,
        next: `Get power, thermal resistance and limit of the hottest parts of ${c.module.id}.`,
      }),
    ];
  }),
};
