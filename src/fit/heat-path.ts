/** The way heat takes from a part: to a cold wall through frames, or to the air of the slot. */
import type { FindingValue } from '../model/finding.ts';
import {
  add,
  compare,
  div,
  mul,
  one,
  type Rational,
  rational,
  sub,
  toNumber,
  type ValueRange,
  zero,
} from '../quantity/index.ts';
import { airDensity, airRisePerWatt, atmosphereRow } from '../standards/atmosphere.ts';
import { environmentClassRow } from '../standards/environment-classes.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import {
  conductionRow,
  fanAirRow,
  forcedAirRow,
  placeInAirRow,
} from '../standards/thermal-policy.ts';
import type { GivenQuantity } from '../system/given.ts';
import type { HotPart } from '../system/thermal.ts';
import { modulePower } from './module-power.ts';
import { efficiencyValues, othersOf } from './plug-in.ts';
import { type SeatedContext, siteText } from './rule.ts';
import type { Factor, Formula } from './sensitivity.ts';
import { type Span, spanText } from './span.ts';
import { derived, measured, tabled } from './weigh.ts';

export interface HeatPath {
  readonly kind: 'conduction' | 'air';
  readonly clause: string;
  readonly factors: readonly Factor[];
  /** What it rests on besides. */
  readonly rests: readonly FindingValue[];
  /** Junction temperature, kelvin. */
  readonly formula: Formula;
  /** Keys of thermal resistances, nearest the part last. */
  readonly resistances: readonly string[];
}

/** Wedge locks and frames on a cold wall, or air, by how the site of the carrier is built. */
export function heatPath(
  c: SeatedContext,
  name: string,
  part: HotPart,
): HeatPath | { readonly missing: readonly string[] } {
  const conducted = c.site.cooling.value === 'conduction';
  const gaps: string[] = [];
  const factors: Factor[] = [];
  const want = (
    key: string,
    label: string,
    given: GivenQuantity | undefined,
    measure: string,
    rises = true,
  ) => {
    if (given === undefined) gaps.push(label);
    else factors.push({ key, range: given.value, rises, value: measured(label, given), measure });
  };
  if (conducted) wantEdge(c, want, factors);
  else {
    want('inlet', `inlet_air of ${c.slot!.id}`, c.slot!.inlet_air, 'Measure the inlet air.');
  }
  want('carrier', `own_power of ${c.carrier.id}`, c.carrier.own_power, measurePower(c.carrier.id));
  gaps.push(...wantModules(c, factors));
  wantEfficiency(c, want);
  want('part', `power of ${name}`, part.power, `Measure the power of ${name} at full rate.`);
  if (conducted) {
    const { wedge_locks: locks, id } = c.carrier;
    want('locks', `wedge_locks of ${id}`, locks, `Measure ${id} in its slot: wall to card edge.`);
    want('frame', `frame of ${siteText(c)}`, c.site.frame, 'Measure it: module frame to carrier.');
    want('own', `to_frame of ${name}`, part.to_frame, `Measure ${name}: junction to frame.`);
  } else {
    const { slot } = c;
    want('flow', `air_flow of ${slot!.id}`, slot!.air_flow, 'Measure the flow.', false);
    want('altitude', `altitude of ${slot!.id}`, slot!.altitude, 'State the altitude of use.');
    want('own', `to_air of ${name}`, part.to_air, `Measure ${name}: junction to the air there.`);
    factors.push(place(name));
  }
  if (gaps.length > 0) return { missing: gaps };
  const efficient = isEfficient(factors);
  return conducted
    ? {
        kind: 'conduction',
        clause: citation(conductionRow),
        factors,
        rests: [tabled('sum of the path', 'in series', conductionRow)],
        formula: throughFrames(efficient),
        resistances: ['locks', 'frame', 'own'],
      }
    : {
        kind: 'air',
        clause: citation(forcedAirRow),
        factors,
        rests: [airValue(factors)],
        formula: throughAir(efficient),
        resistances: ['own'],
      };
}

const isEfficient = (factors: readonly Factor[]) => factors.some((f) => f.key === 'efficiency');

type Want = (
  key: string,
  label: string,
  given: GivenQuantity | undefined,
  measure: string,
  rises?: boolean,
) => void;

const measurePower = (id: string) => `Measure the power of ${id} at full rate.`;

/** The cold wall as the slot states it, or as the class it asks for has it. */
function wantEdge(c: SeatedContext, want: Want, factors: Factor[]): void {
  const { slot } = c;
  const label = `card_edge of ${slot!.id}`;
  const asked = slot!.environment_class
    ?.map((given) => environmentClassRow(given.value))
    .find((row) => row.kind === 'conduction');
  if (slot!.card_edge !== undefined || asked?.celsius === undefined) {
    want('edge', label, slot!.card_edge, 'Measure the cold wall at the card edge.');
    return;
  }
  const kelvin = add(rational(asked.celsius[1]), rational(27315, 100));
  const value = tabled(`${label}, class ${asked.name}`, `${asked.celsius[1]} °C`, asked);
  const range = { low: kelvin, expected: kelvin, high: kelvin };
  factors.push({ key: 'edge', range, rises: true, value, measure: 'Get the card edge stated.' });
}

/** Middle of a span: the products of ranges have no better expected value. */
function middled(span: Span): ValueRange {
  return { ...span, expected: div(add(span.low, span.high), rational(2)) };
}

function wantModules(c: SeatedContext, factors: Factor[]): readonly string[] {
  const own = modulePower(c);
  const others = othersOf(c);
  if (own !== undefined) {
    const value = derived(`power of ${c.module.id}`, spanText(own.span, 'W'), own.values);
    const range = middled(own.span);
    const measure = measurePower(c.module.id);
    factors.push({ key: 'module', range, rises: true, value, measure });
  }
  if (!('missing' in others)) {
    const text = spanText(others.span, 'W');
    const names = others.names.length > 0 ? others.names.join(' and ') : 'other modules, none';
    const value = derived(`power of ${names}`, text, others.values);
    const range = middled(others.span);
    const measure = 'Measure the power of the modules beside it.';
    factors.push({ key: 'others', range, rises: true, value, measure });
  }
  return [
    ...(own === undefined ? [`currents of ${c.module.id} and the VPWR voltage`] : []),
    ...('missing' in others ? others.missing : []),
  ];
}

function wantEfficiency(c: SeatedContext, want: Want): void {
  const { converter_efficiency: efficiency } = c.carrier;
  if (efficiency === undefined) return;
  const label = efficiencyValues(c)[0]!.name;
  want('efficiency', label, efficiency, 'Get the efficiency at this load.', false);
}

/** The carrier's heat, every module's, and what the converters lose. */
function wholeHeat(at: (key: string) => Rational, efficient: boolean): Rational {
  const modules = add(at('module'), at('others'));
  const fed = efficient ? div(modules, at('efficiency')) : modules;
  return add(at('carrier'), fed);
}

const throughFrames =
  (efficient: boolean): Formula =>
  (at) => {
    const locks = mul(wholeHeat(at, efficient), at('locks'));
    const frame = mul(at('module'), at('frame'));
    return add(add(at('edge'), locks), add(frame, mul(at('part'), at('own'))));
  };

function place(name: string): Factor {
  return {
    key: 'place',
    range: { low: zero, expected: rational(1, 2), high: one },
    rises: true,
    value: tabled(`place of ${name} in the air`, 'from inlet to outlet', placeInAirRow),
    measure: `Measure the air beside ${name} with the plug-in at full power.`,
  };
}

/** Density at sea level as fans are rated; thinner by the standard atmosphere above it. */
function density(altitude: Rational): number {
  const metres = toNumber(altitude);
  return (fanAirRow.density * airDensity(metres)) / airDensity(0);
}

function airValue(factors: readonly Factor[]): FindingValue {
  const { high } = factors.find((f) => f.key === 'altitude')!.range;
  const text = `${density(high).toFixed(3)} kg/m³`;
  return tabled('density of the air', text, compare(high, zero) > 0 ? atmosphereRow : fanAirRow);
}

const throughAir =
  (efficient: boolean): Formula =>
  (at) => {
    const rise = airRisePerWatt(at('flow'), density(at('altitude')));
    const warmed = mul(wholeHeat(at, efficient), mul(rise, at('place')));
    return add(add(at('inlet'), warmed), mul(at('part'), at('own')));
  };

/** Terms of the sum in words, `71 °C + 7.845 K + 14.3 K + 14 K`, at expected values. */
export function terms(path: HeatPath): readonly { name: string; kelvin: Rational }[] {
  const at = (key: string) => {
    const found = path.factors.find((f) => f.key === key);
    if (found === undefined) throw new RangeError(`heat path: no ${key}`);
    return found.range.expected;
  };
  const whole = wholeHeat(at, isEfficient(path.factors));
  const own = { name: 'part', kelvin: mul(at('part'), at('own')) };
  if (path.kind === 'conduction') {
    return [
      { name: 'wedge locks', kelvin: mul(whole, at('locks')) },
      { name: 'frame', kelvin: mul(at('module'), at('frame')) },
      own,
    ];
  }
  const rise = airRisePerWatt(at('flow'), density(at('altitude')));
  return [{ name: 'air', kelvin: mul(whole, mul(rise, at('place'))) }, own];
}

/** Most that the module may draw, watts: all ranges at their worst, the part's own power as it is. */
export function mostPower(path: HeatPath, ceiling: Rational): Rational {
  const worst = (key: string) => {
    const { range, rises } = path.factors.find((f) => f.key === key)!;
    return rises ? range.high : range.low;
  };
  const with0 = path.formula((key) => (key === 'module' ? zero : worst(key)));
  const with1 = path.formula((key) => (key === 'module' ? one : worst(key)));
  const slope = sub(with1, with0);
  return slope.n === 0n ? zero : div(sub(ceiling, with0), slope);
}
