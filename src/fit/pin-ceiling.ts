/** What the pins of a rail carry: amperes a pin, and the share of them that is used. */
import type { FindingValue } from '../model/finding.ts';
import { add, fromDecimal, mul, type Rational, rational, zero } from '../quantity/index.ts';
import { type ConnectorFamilyRow, connectorFamilyRow } from '../standards/connectors.ts';
import { type PowerPinsRow, powerPinsRows } from '../standards/mezzanine-power.ts';
import { connectorCurrentRow } from '../standards/thermal-policy.ts';
import type { Rail } from '../system/parts.ts';
import type { SeatedContext } from './rule.ts';
import { type Span, spanText } from './span.ts';
import { tabled, weakest } from './weigh.ts';

export interface PinCeiling {
  /** Refuses: the rating, or the share of it that the case's policy allows. */
  readonly span: Span;
  readonly value: FindingValue;
  /** Warns, where no policy is stated: the share that is usual. */
  readonly usual?: FindingValue & { readonly span: Span };
}

interface Group {
  readonly pins: PowerPinsRow;
  readonly family: ConnectorFamilyRow;
}

/**
 * Pins of the rail times amperes a pin, over the module's own connectors; undefined without a pin. It
 * is a figure of the connector, not what a site may deliver, so it decides only when it is lower.
 */
export function pinCeiling(c: SeatedContext, rail: Rail): PinCeiling | undefined {
  const groups: Group[] = [];
  for (const pins of powerPinsRows) {
    const connector = c.module.connectors[pins.connector];
    if (pins.rail !== rail || connector === undefined) continue;
    groups.push({ pins, family: connectorFamilyRow(connector.family.value) });
  }
  if (groups.length === 0) return undefined;
  const rated = groups.reduce(
    (all, { pins, family }) =>
      add(all, mul(rational(pins.pins.length), fromDecimal(String(family.currentPerPin.value)))),
    zero,
  );
  const policy = c.case.policy?.connector_current;
  const share = policy?.value.low ?? rational(1);
  const prefix = policy ? `${policy.value.text} of ` : '';
  const span = both(mul(rated, share));
  const value = product(rail, groups, `${spanText(span, 'A')}: ${prefix}${words(groups)}`);
  return policy ? { span, value } : { span, value, usual: usualOf(rail, rated) };
}

const both = (value: Rational): Span => ({ low: value, high: value });

function words(groups: readonly Group[]): string {
  return groups
    .map(
      ({ pins, family }) =>
        `${pins.pins.length} pins of ${pins.connector} at ${family.currentPerPin.value} A`,
    )
    .join(', ');
}

/** The product is no better than the weaker of its two rows, and that row is the one to confirm. */
function product(rail: Rail, groups: readonly Group[], text: string): FindingValue {
  const sources = groups.flatMap(({ pins, family }) => [family.currentPerPin, pins]);
  const weakestBasis = weakest(sources.map((row) => row.basis));
  const source = sources.find((row) => row.basis === weakestBasis)!;
  return tabled(`connector ceiling of ${rail}`, text, source);
}

function usualOf(rail: Rail, rated: Rational): FindingValue & { readonly span: Span } {
  const { percent } = connectorCurrentRow;
  const span = both(mul(rated, rational(percent, 100)));
  const text = `${spanText(span, 'A')} at ${percent} % of their rating`;
  return { ...tabled(`usual share of the pins of ${rail}`, text, connectorCurrentRow), span };
}
