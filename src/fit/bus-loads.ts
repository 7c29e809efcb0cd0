import type { Finding } from '../model/finding.ts';
import { compare, rational } from '../quantity/index.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { busLoadRows } from '../standards/mezzanine-edges.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { given, measured, tabled, weigh } from './weigh.ts';

const id = 'bus-loads';

function check(c: SeatedContext): readonly Finding[] {
  const { bus_segment: segment, bus_clock: clock } = c.site;
  if (segment === undefined || c.module.connectors.P11 === undefined) return [];
  const neighbours = Object.values(c.case.beside ?? {}).filter(
    ({ module, site }) =>
      site.bus_segment?.value === segment.value && module.connectors.P11 !== undefined,
  );
  if (neighbours.length === 0) return [];
  const modules = [c.module, ...neighbours.map((n) => n.module)].map((m) => m.id);
  const head = { id, subject: `loads of ${segment.value} on ${c.carrier.id}` };
  const named = given('segment', segment);
  if (clock === undefined) {
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: `${modules.join(' and ')} share it; its bus_clock is not given`,
        decidedBy: [named],
        clause: 'loads of a PCI segment by its clock',
        next: `Get the clock of ${segment.value}.`,
      }),
    ];
  }
  // The row of the slowest listed clock that is no slower than this one.
  const row = [...busLoadRows]
    .reverse()
    .find((r) => compare(clock.value.high, rational(r.megahertz * 1_000_000 + 700_000)) <= 0);
  const decided = [named, measured('clock of the segment', clock)];
  if (row === undefined) {
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: `${modules.length} modules at ${clock.value.text}: no row speaks of that clock`,
        decidedBy: decided,
        clause: 'loads of a PCI segment by its clock',
        next: "Get the carrier's statement for both sites filled.",
      }),
    ];
  }
  const held = modules.length <= row.loads;
  return [
    weigh({
      ...head,
      level: held ? 'ok' : 'caution',
      message: `${modules.length} modules at ${clock.value.text}, of about ${row.loads}`,
      decidedBy: [...decided, tabled('loads', `${row.loads}`, row)],
      clause: citation(row),
      next: held ? '' : 'Run the segment slower, or put the modules on two segments.',
    }),
  ];
}

/** Modules that share a PCI segment, against about what its clock takes. */
export const busLoadsRule: FitRule = {
  id,
  title: 'Loads of the PCI segment',
  clause: 'VITA 39 and the PCI specifications, loads by clock (from memory)',
  check: seated(check),
};
