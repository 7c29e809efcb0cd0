import type { Finding } from '../model/finding.ts';
import { mating } from '../standards/connectors.ts';
import { positionRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { type MatedPair, matedPairs } from './mated.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'connector-family';

/** A family written at a position whose connector has another pin count: a slip in a part. */
function misplaced({ connector, module, site }: MatedPair): string | undefined {
  const wants64 = positionRow(connector).kind === '64-pin';
  const wrong = [module, site].find((half) => (half.family.value === 'CMC') !== wants64);
  return wrong?.family.value;
}

function checkPair(c: SeatedContext, pair: MatedPair): Finding {
  const { connector, module, site } = pair;
  const ours = given(`${connector} family of ${c.module.id}`, module.family);
  const theirs = given(`${connector} family of ${siteText(c)}`, site.family);
  const subject = `${connector} of ${c.module.id} on ${siteText(c)}`;
  const head = { id: `${id}/${connector}`, subject };
  const stranger = misplaced(pair);
  if (stranger !== undefined) {
    const row = positionRow(connector);
    return weigh({
      level: 'stop',
      message: `${stranger} does not belong at ${connector}, a ${row.kind} position`,
      decidedBy: [ours, theirs],
      clause: citation(row),
      next: 'Correct the part from its data sheet.',
      ...head,
    });
  }
  const names = `${module.family.value} on the module, ${site.family.value} on the carrier`;
  const row = mating(module.family.value, site.family.value);
  if (row === undefined) {
    return weigh({
      level: 'unknown',
      message: `${names}: no rule says whether they mate`,
      decidedBy: [ours, theirs],
      clause: 'no row for this pair of families',
      next: 'Do not mate them; ask the maker of either half which families it mates with.',
      ...head,
    });
  }
  return weigh({
    level: row.mates ? 'ok' : 'stop',
    message: `${names}: they ${row.mates ? 'mate' : 'do not mate'}`,
    decidedBy: [ours, theirs, tabled('intermating', row.mates ? 'mates' : 'does not mate', row)],
    clause: citation(row),
    next: row.mates ? '' : `Order the module or the carrier with the other's ${connector} family.`,
    ...head,
  });
}

/** Both halves of each connector are of families that mate. */
export const connectorFamilyRule: FitRule = {
  id,
  title: 'Connector families mate',
  clause: 'ANSI/VITA 42.0, ANSI/VITA 61.0, VITA 88 connectors',
  check: seated((c) => matedPairs(c).map((pair) => checkPair(c, pair))),
};
