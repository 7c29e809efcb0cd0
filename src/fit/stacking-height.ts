import type { Finding } from '../model/finding.ts';
import { connectorFamilyRow } from '../standards/connectors.ts';
import { matedPairs } from './mated.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { alike, inMillimetres } from './span.ts';
import { measured, tabled, weigh } from './weigh.ts';

function checkStack(c: SeatedContext): Finding {
  const ours = measured(`stacking height of ${c.module.id}`, c.module.stacking_height);
  const theirs = measured(`stacking height of ${siteText(c)}`, c.site.stacking_height);
  const head = {
    id: 'stacking-height',
    subject: `stacking height of ${c.module.id} on ${siteText(c)}`,
    clause: 'IEEE 1386 stacking height, 10 mm unless both boards say otherwise; both halves equal',
  };
  const heights = `${ours.text} on the module, ${theirs.text} on the carrier`;
  const same = alike(c.module.stacking_height.value, c.site.stacking_height.value);
  if (same !== 'same') {
    const why = same === 'different' ? 'the halves do not meet' : 'not known to be one';
    return weigh({
      level: same === 'different' ? 'stop' : 'unknown',
      message: `${heights}: ${why}`,
      decidedBy: [ours, theirs],
      next:
        same === 'different'
          ? 'Order one of them with connector and standoffs of the height of the other.'
          : 'Get the one stacking height of each board from its data sheet.',
      ...head,
    });
  }
  const height = inMillimetres(c.module.stacking_height.value.low);
  const families = [...new Set(matedPairs(c).flatMap((p) => [p.module.family, p.site.family]))]
    .map((family) => connectorFamilyRow(family.value))
    .filter((row, at, all) => all.indexOf(row) === at);
  const unlisted = families.filter((row) => !row.stackHeights.millimetres.includes(height));
  if (unlisted.length === 0) {
    return weigh({ level: 'ok', message: heights, decidedBy: [ours, theirs], next: '', ...head });
  }
  const names = unlisted.map((row) => row.family).join(', ');
  return weigh({
    level: 'caution',
    message: `${heights}: not among the heights known of ${names}`,
    decidedBy: [
      ours,
      theirs,
      ...unlisted.map(({ family, stackHeights }) =>
        tabled(`${family} heights`, `${stackHeights.millimetres.join(', ')} mm`, stackHeights),
      ),
    ],
    next: 'Compare the part numbers of both connector halves.',
    ...head,
  });
}

/** The two boards meet at one height. */
export const stackingHeightRule: FitRule = {
  id: 'stacking-height',
  title: 'Stacking height of both halves',
  clause: 'IEEE 1386; ANSI/VITA 42.0',
  check: seated((c) => [checkStack(c)]),
};
