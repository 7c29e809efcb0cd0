import type { FindingValue } from '../model/finding.ts';
import { railVoltageRows } from '../standards/mezzanine-power.ts';
import { type CarrierSite, type ModulePart, type Rail, rails } from '../system/parts.ts';
import type { FitContext } from './rule.ts';
import { alike, point, product, type Span, spanText, sum } from './span.ts';
import { measured, tabled } from './weigh.ts';

/** Power with the values it was worked out from, and the sum in words. */
export interface Power {
  readonly span: Span;
  readonly values: readonly FindingValue[];
  readonly words: string;
}

/**
 * Voltage of a rail: nominal by name; VPWR as the site gives it. Where the module does not accept
 * that, its current was never stated for it, and what the module accepts stands in.
 */
function voltage(
  module: ModulePart,
  seat: CarrierSite | undefined,
  rail: Rail,
): { span: Span; value: FindingValue } | undefined {
  if (rail !== 'VPWR') {
    const row = railVoltageRows.find((r) => r.rail === rail);
    if (row === undefined) return undefined;
    const span = { low: point(row.low).low, high: point(row.high).high };
    return { span, value: tabled(`${rail} voltage`, spanText(span, 'V'), row) };
  }
  const { vpwr_accepts: accepts } = module;
  const site = seat?.vpwr;
  const apart = site && accepts && alike(site.value, accepts.value) === 'different';
  const vpwr = site === undefined || apart ? accepts : site;
  return vpwr && { span: vpwr.value, value: measured('VPWR voltage', vpwr) };
}

/** Continuous power the module draws: volts times amperes over its rails; undefined if unknown. */
export function modulePower(c: FitContext): Power | undefined {
  return powerOn(c.module, c.site);
}

/** As `modulePower`, of any module on any site. */
export function powerOn(module: ModulePart, site: CarrierSite | undefined): Power | undefined {
  let total = point('0');
  const values: FindingValue[] = [];
  const words: string[] = [];
  for (const rail of rails) {
    const demand = module.supplies[rail];
    if (demand === undefined) continue;
    const volts = voltage(module, site, rail);
    if (volts === undefined) return undefined;
    const current = demand.continuous.value;
    total = sum(total, product(volts.span, current));
    values.push(measured(`${rail} current of ${module.id}`, demand.continuous), volts.value);
    words.push(`${spanText(volts.span, 'V')} × ${current.text}`);
  }
  if (values.length === 0) return undefined;
  return { span: total, values, words: `${words.join(' + ')} = ${spanText(total, 'W')}` };
}
