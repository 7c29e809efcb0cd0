import type { Finding } from '../model/finding.ts';
import { compare, zero } from '../quantity/index.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { ioZoneRow } from '../standards/mezzanine-edges.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { against, lengthText, lower, millimetres, sum } from './span.ts';
import { measured, tabled, weigh } from './weigh.ts';

const id = 'io-zone';

function check(c: SeatedContext): readonly Finding[] {
  const [ours, theirs] = [c.module.io_zone_height, c.site.io_zone_height];
  if (ours === undefined && theirs === undefined) return [];
  const stack = lower(c.module.stacking_height.value, c.site.stacking_height.value);
  const row = (name: string, height: number) => tabled(name, `${height} mm`, ioZoneRow);
  const names = [`I/O zone of ${c.module.id}`, `I/O zone of ${siteText(c)}`] as const;
  const need = ours?.value ?? millimetres(ioZoneRow.module);
  const have = theirs?.value ?? millimetres(ioZoneRow.carrier);
  const both = sum(need, have);
  const standing = against(both, stack);
  const clear = compare(have.high, zero) === 0;
  const message = `${lengthText(both)} of parts in ${lengthText(stack)}`;
  const decidedBy = [
    ours ? measured(names[0], ours) : row(names[0], ioZoneRow.module),
    theirs ? measured(names[1], theirs) : row(names[1], ioZoneRow.carrier),
  ];
  const head = { id, subject: `I/O zone under ${c.module.id}`, decidedBy };
  const clause = citation(ioZoneRow);
  if (standing !== 'within') {
    const level = standing === 'beyond' ? 'stop' : 'unknown';
    const next =
      standing === 'beyond'
        ? 'The front connectors meet parts of the carrier: choose another carrier or build.'
        : 'Measure both boards in the I/O zone.';
    return [weigh({ ...head, level, message, clause, next })];
  }
  if (clear) return [weigh({ ...head, level: 'ok', message, clause, next: '' })];
  return [
    weigh({
      ...head,
      level: 'caution',
      message: `${message}: the carrier has parts where the standard wants none`,
      clause,
      next: 'Compare both drawings there; no other module is promised to fit.',
    }),
  ];
}

/** Parts at the front: the module may use nearly the whole stack there, and the carrier nothing. */
export const ioZoneRule: FitRule = {
  id,
  title: 'Parts in the I/O zone',
  clause: citation(ioZoneRow),
  check: seated(check),
};
