import type { Finding } from '../model/finding.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { lengthRows } from '../standards/mezzanine-edges.ts';
import type { Cooling } from '../system/parts.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, lengthText, millimetres } from './span.ts';
import { measured, tabled, weigh } from './weigh.ts';

const id = 'length';

function usual(cooling: Cooling) {
  const row = lengthRows.find((r) => r.cooling === cooling);
  if (row === undefined) throw new RangeError(`length: no row for ${cooling}`);
  return row;
}

function check(c: SeatedContext): readonly Finding[] {
  const [ours, theirs] = [c.module.length, c.site.length];
  if (ours === undefined && theirs === undefined) return [];
  const rows = { module: usual(c.module.cooling.value), site: usual(c.site.cooling.value) };
  const need = ours?.value ?? millimetres(rows.module.length);
  const have = theirs?.value ?? millimetres(rows.site.length);
  const of = (name: string, side: 'module' | 'site', given: typeof ours) =>
    given
      ? measured(`length of ${name}`, given)
      : tabled(`length of ${name}`, `${rows[side].length} mm`, rows[side]);
  const standing = against(need, have);
  return [
    weigh({
      id,
      level: standing === 'within' ? 'ok' : standing === 'beyond' ? 'stop' : 'unknown',
      subject: `length of ${c.module.id} on ${siteText(c)}`,
      message: `${lengthText(need)} on a site for ${lengthText(have)}`,
      decidedBy: [of(c.module.id, 'module', ours), of(siteText(c), 'site', theirs)],
      clause: citation(rows.module),
      next: {
        within: '',
        overlap: 'Get both lengths from the drawings.',
        beyond: 'Choose a carrier with room for the full length, or the shortened build.',
      }[standing],
    }),
  ];
}

/** Length of the module against what the site takes; shortened builds and sites state theirs. */
export const lengthRule: FitRule = {
  id,
  title: 'Length',
  clause: 'IEEE 1386 module size; VITA 20 for conduction builds',
  check: seated(check),
};
