import { moduleCoolingRows, thermalQualificationRow } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { judgeCooling } from './cooling.ts';
import { type FitRule, seated, siteText } from './rule.ts';

/** Module cooling against the carrier's site. */
export const moduleCoolingRule: FitRule = {
  id: 'cooling-module',
  title: 'Cooling of the module on its site',
  clause: `common practice; VITA 20; ${citation(thermalQualificationRow)}`,
  check: seated((c) => [
    judgeCooling(
      'cooling-module',
      moduleCoolingRows,
      { name: c.module.id, cooling: c.module.cooling },
      { name: siteText(c), cooling: c.site.cooling },
    ),
  ]),
};
