import type { Finding } from '../model/finding.ts';
import type { Given } from '../system/given.ts';
import type { Rail } from '../system/parts.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { given, weigh } from './weigh.ts';

const id = 'rail-order';
const clause = 'common practice: rails come up in the order a module asks for (no source)';

const names = (order: readonly Given<Rail>[]) => order.map((r) => r.value);

function check(c: SeatedContext): readonly Finding[] {
  const asked = c.module.rail_order;
  if (asked === undefined || asked.length < 2) return [];
  const offered = c.site.rail_order ?? [];
  const text = names(asked).join(', then ');
  const head = { id, subject: `order of supplies of ${siteText(c)} for ${c.module.id}`, clause };
  const need = given(`rail order of ${c.module.id}`, asked[0]!, text);
  const missing = names(asked).filter((rail) => !names(offered).includes(rail));
  if (missing.length > 0) {
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: `the module asks for ${text}; the site's order of ${missing.join(', ')} is not given`,
        decidedBy: [need],
        next: `Get rail_order of ${siteText(c)}, or take all rails with a probe at power on.`,
      }),
    ];
  }
  const common = names(offered).filter((rail) => names(asked).includes(rail));
  const kept = common.every((rail, i) => rail === asked[i]!.value);
  const have = given(`rail order of ${siteText(c)}`, offered[0]!, names(offered).join(', then '));
  return [
    weigh({
      ...head,
      level: kept ? 'ok' : 'stop',
      message: `the module asks for ${text}; the site gives ${common.join(', then ')}`,
      decidedBy: [need, have],
      next: kept ? '' : 'Ask both makers whether this order harms; do not power the pair before.',
    }),
  ];
}

/** Order in which rails come up, where the module asks for one. */
export const railOrderRule: FitRule = {
  id,
  title: 'Order of supplies',
  clause,
  check: seated(check),
};
