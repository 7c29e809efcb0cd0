import { compare } from '../quantity/index.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { vpwrRow } from '../standards/mezzanine-power.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { measured, weigh } from './weigh.ts';

const id = 'vpwr-voltage';

function check(c: SeatedContext) {
  if (c.module.supplies.VPWR === undefined && c.module.vpwr_accepts === undefined) return [];
  const { vpwr_accepts: accepts } = c.module;
  const { vpwr } = c.site;
  const head = {
    id,
    subject: `VPWR of ${siteText(c)} for ${c.module.id}`,
    clause: citation(vpwrRow),
  };
  if (accepts === undefined || vpwr === undefined) {
    const gap = accepts === undefined ? `vpwr_accepts of ${c.module.id}` : `vpwr of ${siteText(c)}`;
    return [
      weigh({
        level: 'unknown',
        message: `not given: ${gap}; VPWR is 5 V or 12 V by choice of the carrier`,
        decidedBy: [],
        next: `Get ${gap} from the data sheet before applying power.`,
        ...head,
      }),
    ];
  }
  const decidedBy = [
    measured(`VPWR that ${c.module.id} accepts`, accepts),
    measured(`VPWR of ${siteText(c)}`, vpwr),
  ];
  const { low, high } = vpwr.value;
  const inside = compare(low, accepts.value.low) >= 0 && compare(high, accepts.value.high) <= 0;
  const apart = compare(high, accepts.value.low) < 0 || compare(low, accepts.value.high) > 0;
  const message = `the site gives ${vpwr.value.text}, the module accepts ${accepts.value.text}`;
  if (inside) return [weigh({ level: 'ok', message, decidedBy, next: '', ...head })];
  return [
    weigh({
      level: apart ? 'stop' : 'unknown',
      message,
      decidedBy,
      next: apart
        ? 'Do not power the pair. Order the module build for this voltage, or another carrier.'
        : 'Get the tolerance of VPWR at the site, and the lowest and highest the module accepts.',
      ...head,
    }),
  ];
}

/** The carrier's VPWR lies within what the module accepts. */
export const vpwrVoltageRule: FitRule = {
  id,
  title: 'VPWR voltage',
  clause: citation(vpwrRow),
  check: seated(check),
};
