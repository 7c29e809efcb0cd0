import { citation } from '../standards/mezzanine-cited.ts';
import { frontRow } from '../standards/mezzanine-edges.ts';
import { type FitRule, seated, siteText } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'front-io';

/** Front connectors that the use needs are out of reach in a conduction build. */
export const frontIoRule: FitRule = {
  id,
  title: 'Connectors at the front',
  clause: citation(frontRow),
  check: seated((c) => {
    const { front_io: front } = c.module;
    if (front?.value !== true) return [];
    const sides = [
      { name: c.module.id, cooling: c.module.cooling },
      { name: siteText(c), cooling: c.site.cooling },
      ...(c.slot ? [{ name: c.slot.id, cooling: c.slot.cooling }] : []),
    ];
    const shut = sides.filter(({ cooling }) => cooling.value === 'conduction');
    return [
      weigh({
        id,
        level: shut.length > 0 ? 'stop' : 'ok',
        subject: `front connectors of ${c.module.id}`,
        message:
          shut.length > 0
            ? `${shut.map((s) => s.name).join(' and ')}: cooled by conduction, no opening in front`
            : 'an air build has an opening in front',
        decidedBy: [
          given(`front_io of ${c.module.id}`, front),
          ...sides.map((s) => given(`cooling of ${s.name}`, s.cooling)),
          tabled('rule', 'conduction builds have no bezel opening', frontRow),
        ],
        clause: citation(frontRow),
        next: shut.length > 0 ? 'Order the build with its I/O at the rear connectors.' : '',
      }),
    ];
  }),
};
