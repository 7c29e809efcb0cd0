import type { Finding } from '../model/finding.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { siteLimitsRow } from '../standards/mezzanine-power.ts';
import { modulePower } from './module-power.ts';
import { type FitRule, seated, siteText } from './rule.ts';
import { against, spanText } from './span.ts';
import { derived, measured, weigh } from './weigh.ts';

function unknown(id: string, subject: string, gap: string): Finding {
  return weigh({
    id,
    level: 'unknown',
    subject,
    message: `not given: ${gap}`,
    decidedBy: [],
    clause: citation(siteLimitsRow),
    next: `Get ${gap} from the data sheet.`,
  });
}

/** Continuous power of the module against the site's total. */
export const totalPowerRule: FitRule = {
  id: 'total-power',
  title: 'Total power at the site',
  clause: citation(siteLimitsRow),
  check: seated((c) => {
    const id = 'total-power';
    const subject = `total power of ${c.module.id} on ${siteText(c)}`;
    const power = modulePower(c);
    if (power === undefined) {
      return [unknown(id, subject, `currents of ${c.module.id} and the VPWR voltage`)];
    }
    if (c.site.total_power === undefined) {
      return [unknown(id, subject, `total_power of ${siteText(c)}`)];
    }
    const limit = c.site.total_power;
    const standing = against(power.span, limit.value);
    const level = standing === 'within' ? 'ok' : standing === 'beyond' ? 'stop' : 'unknown';
    return [
      weigh({
        id,
        level,
        subject,
        message: `${power.words} of ${limit.value.text}`,
        decidedBy: [...power.values, measured(`total power of ${siteText(c)}`, limit)],
        beside: [derived('power of the module', spanText(power.span, 'W'), power.values)],
        clause: citation(siteLimitsRow),
        next: {
          ok: '',
          stop: 'Choose a site with more total power, or a module build that draws less.',
          unknown: 'Narrow the range: measure the currents, or get guaranteed ones.',
        }[level],
      }),
    ];
  }),
};
