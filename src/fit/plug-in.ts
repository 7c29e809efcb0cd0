/** What the whole plug-in takes from its slot: carrier, every module on it, and what converters lose. */
import type { FindingValue } from '../model/finding.ts';
import { div, one, rational, sub } from '../quantity/index.ts';
import { modulePower, type Power, powerOn } from './module-power.ts';
import type { SeatedContext } from './rule.ts';
import { point, product, type Span, spanText, sum } from './span.ts';
import { derived, measured } from './weigh.ts';

/** Modules on the carrier's other sites. */
export interface Others {
  readonly span: Span;
  readonly values: readonly FindingValue[];
  readonly names: readonly string[];
}

/** Power of the modules beside this one, or the names of what is not given. */
export function othersOf(c: SeatedContext): Others | { readonly missing: readonly string[] } {
  const { beside } = c.case;
  const free = Object.keys(c.carrier.sites).filter((name) => name !== c.siteName);
  if (beside === undefined && free.length > 0) {
    return { missing: [`beside: what sits on ${free.map((n) => `site ${n}`).join(', ')}`] };
  }
  let span = point('0');
  const values: FindingValue[] = [];
  const names: string[] = [];
  for (const [name, { module, site }] of Object.entries(beside ?? {})) {
    const power = powerOn(module, site);
    if (power === undefined) return { missing: [`currents of ${module.id} on site ${name}`] };
    span = sum(span, power.span);
    names.push(`${module.id} on site ${name}`);
    values.push(derived(`power of ${module.id} on site ${name}`, wattText(power), power.values));
  }
  return { span, values, names };
}

const wattText = ({ span }: Power) => spanText(span, 'W');

/** All modules, this one among them. */
export function allModules(c: SeatedContext): Others | { readonly missing: readonly string[] } {
  const own = modulePower(c);
  const others = othersOf(c);
  const missing = [
    ...(own === undefined ? [`currents of ${c.module.id} and the VPWR voltage`] : []),
    ...('missing' in others ? others.missing : []),
  ];
  if (own === undefined || 'missing' in others) return { missing };
  const value = derived(`power of ${c.module.id}`, wattText(own), own.values);
  return {
    span: sum(own.span, others.span),
    values: [value, ...others.values],
    names: [c.module.id, ...others.names],
  };
}

/** What the converters lose on the way to the modules; nothing where no efficiency is given. */
export function lossesOf(c: SeatedContext, modules: Span): Span {
  const efficiency = c.carrier.converter_efficiency?.value;
  if (efficiency === undefined) return { low: rational(0), high: rational(0) };
  const lost = { low: share(efficiency.high), high: share(efficiency.low) };
  return product(modules, lost);
}

/** Loss for each watt that arrives: 1 / efficiency − 1. */
const share = (efficiency: Span['low']) => sub(div(one, efficiency), one);

/** The efficiency as a value, where it is given. */
export function efficiencyValues(c: SeatedContext): readonly FindingValue[] {
  const { converter_efficiency: efficiency, id } = c.carrier;
  return efficiency ? [measured(`converter efficiency of ${id}`, efficiency)] : [];
}
