import { slotCoolingRows } from '../standards/mezzanine.ts';
import { judgeCooling } from './cooling.ts';
import { type FitRule, seated, siteText } from './rule.ts';
import { given, weigh } from './weigh.ts';

/** Carrier cooling against the slot. */
export const slotCoolingRule: FitRule = {
  id: 'cooling-slot',
  title: 'Cooling of the carrier in its slot',
  clause: 'common practice; VITA 48',
  check: seated((c) => {
    if (c.slot === undefined) {
      return [
        weigh({
          id: 'cooling-slot',
          level: 'unknown',
          subject: `slot for ${c.carrier.id}`,
          message: 'the case names no slot: nothing says how the carrier is cooled',
          decidedBy: [given(`cooling of ${siteText(c)}`, c.site.cooling)],
          clause: 'common practice; VITA 48',
          next: 'Name the slot in the case.',
        }),
      ];
    }
    return [
      judgeCooling(
        'cooling-slot',
        slotCoolingRows,
        { name: siteText(c), cooling: c.site.cooling },
        { name: c.slot.id, cooling: c.slot.cooling },
      ),
    ];
  }),
};
