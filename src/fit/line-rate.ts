import type { Finding, FindingValue, Level } from '../model/finding.ts';
import { compare, div, rational, toDecimal } from '../quantity/index.ts';
import { type ConnectorFamilyRow, connectorFamilyRow } from '../standards/connectors.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { generationRow } from '../standards/pcie-link.ts';
import type { Connector, Generation } from '../system/parts.ts';
import { type MatedPair, matedPairs } from './mated.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, point, type Span } from './span.ts';
import { derived, given, measured, tabled, weigh } from './weigh.ts';

const id = 'line-rate';

interface Rating {
  readonly span: Span;
  readonly value: FindingValue;
  readonly row: ConnectorFamilyRow;
  /** Whether the part states it, and not the family's row. */
  readonly stated: boolean;
}

const giga = (rate: number): Span => point(`${rate}e9`);

/** What a half is rated for: its maker's figure, or its family's row. */
function rating(half: Connector, whose: string): Rating | undefined {
  const row = connectorFamilyRow(half.family.value);
  const name = `rated line rate of ${whose}`;
  if (half.rated_line_rate !== undefined) {
    const { value } = half.rated_line_rate;
    return { span: value, value: measured(name, half.rated_line_rate), row, stated: true };
  }
  if (row.lineRate === undefined) return undefined;
  const text = `${row.lineRate.rated} GT/s, ${row.family} as designed`;
  const value = tabled(name, text, row.lineRate);
  return { span: giga(row.lineRate.rated), value, row, stated: false };
}

/** The generation the link can train to: the lowest of module, next port and setting. */
export function trainedGeneration(
  c: SeatedContext,
): { generation: Generation; value: FindingValue } | undefined {
  const port = c.switches[0]?.pcie ?? c.host?.pcie;
  const candidates = [
    ...(c.module.pcie ? [{ of: c.module.id, generation: c.module.pcie.generation }] : []),
    ...(port ? [{ of: c.switches[0]?.id ?? c.host!.id, generation: port.generation }] : []),
    ...(c.settings.generation ? [{ of: 'setting', generation: c.settings.generation }] : []),
  ];
  const lowest = candidates.reduce<(typeof candidates)[number] | undefined>(
    (low, one) => (low && low.generation.value <= one.generation.value ? low : one),
    undefined,
  );
  if (lowest === undefined) return undefined;
  const generation = lowest.generation.value;
  const speed = speedText(generation);
  const text = `generation ${generation}, ${speed}`;
  return { generation, value: given(`link speed, set by ${lowest.of}`, lowest.generation, text) };
}

/**
 * Transfers per second on one lane. Generation 6 has no row among those of 8b/10b and 128b/130b: it
 * is 64 GT/s as PAM4, two bits a symbol (PCI Express Base Specification 6.3 §1.2, table 1-1).
 */
function transfersPerSecond(generation: Generation): number {
  return generation === 6 ? 64_000_000_000 : generationRow(generation).transfersPerSecond;
}

function speedText(generation: Generation): string {
  const giga = div(rational(transfersPerSecond(generation)), rational(1_000_000_000));
  return `${toDecimal(giga, 4)} GT/s${generation === 6 ? ' PAM4' : ''}`;
}

/** How far beyond its rating a pair is asked to run; the weaker family speaks. */
function beyond(speed: Span, limits: NonNullable<ConnectorFamilyRow['lineRate']>, family: string) {
  if (against(speed, giga(limits.practised)) === 'within') {
    return {
      level: 'caution' as Level,
      message: `above its rating; up to ${limits.practised} GT/s is common on ${family}`,
      next: 'Ask for a channel proof (loss and eye over module, pair and carrier) at this speed.',
    };
  }
  if (against(speed, giga(limits.proof)) === 'within') {
    return {
      level: 'caution' as Level,
      message: `far above its rating; ${family} has run so fast only on channels proven one by one`,
      next:
        'Do not promise this speed: measure the eye on this module and this carrier over ' +
        'temperature, or set the link one generation lower.',
    };
  }
  return {
    level: 'unknown' as Level,
    message: `beyond anything known to have run on ${family}`,
    next: 'Set the link slower, or get a measured channel proof and state it as rated_line_rate.',
  };
}

function checkPair(c: SeatedContext, pair: MatedPair): readonly Finding[] {
  const link = trainedGeneration(c);
  const ours = rating(pair.module, `${pair.connector} of ${c.module.id}`);
  const theirs = rating(pair.site, `${pair.connector} of ${siteText(c)}`);
  if (link === undefined || ours === undefined || theirs === undefined) return [];
  const order = compare(ours.span.low, theirs.span.low);
  const lowest = order < 0 ? [ours] : order > 0 ? [theirs] : [ours, theirs];
  const decidedBy = lowest.map((r) => r.value);
  const beside = order === 0 ? [] : [order < 0 ? theirs.value : ours.value];
  const speed = giga(transfersPerSecond(link.generation) / 1_000_000_000);
  const weaker = lowest[0]!;
  const head = {
    id: `${id}/${pair.connector}`,
    subject: `${pair.connector} at ${speedText(link.generation)}`,
    beside: [...beside, derived('mated pair', `runs at ${weaker.value.text}`, decidedBy)],
    clause: clauseOf(lowest),
  };
  const standing = lowest.map((r) => against(speed, r.span));
  if (standing.every((s) => s === 'within')) {
    const message = 'within the rating of the pair';
    return [
      weigh({ level: 'ok', message, decidedBy: [link.value, ...decidedBy], next: '', ...head }),
    ];
  }
  const families = lowest.flatMap((r) => (r.row.lineRate ? [r.row] : []));
  // Only a family misplaced at a 64-pin position has no rate; `connector-family` stops it.
  if (families.length === 0) return [];
  const worst = families.reduce((a, b) => (a.lineRate!.proof <= b.lineRate!.proof ? a : b));
  const limits = worst.lineRate!;
  const text = `${limits.practised} GT/s common, ${limits.proof} GT/s with a channel proof`;
  const known = tabled(`${worst.family} beyond its rating`, text, limits);
  return [
    weigh({
      decidedBy: [link.value, ...decidedBy, known],
      ...beyond(speed, limits, worst.family),
      ...head,
    }),
  ];
}

/** The table's row when it decides, else the data sheets that do. */
function clauseOf(lowest: readonly Rating[]): string {
  const pair = 'a mated pair runs at the lower of its halves (common practice, no source)';
  const row = lowest.find((r) => !r.stated)?.row.lineRate;
  return row === undefined
    ? `ratings as stated by the parts; ${pair}`
    : `${citation(row)}; ${pair}`;
}

/**
 * Line rate of PCI Express against the mated pair, which runs at the lower of its halves. Other
 * serial fabrics are not checked: a part does not state their line rate.
 */
export const lineRateRule: FitRule = {
  id,
  title: 'Rated line rate against link speed',
  clause: 'ANSI/VITA 42.0, ANSI/VITA 61.0, VITA 88 connectors; mated pair: common practice',
  check: seated((c) =>
    matedPairs(c)
      .filter((p) => p.module.carries.value === 'PCI Express')
      .flatMap((pair) => checkPair(c, pair)),
  ),
};
