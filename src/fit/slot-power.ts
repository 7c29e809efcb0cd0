import { sub } from '../quantity/index.ts';
import { modulePower } from './module-power.ts';
import { type FitRule, seated } from './rule.ts';
import { against, spanText } from './span.ts';
import { measured, weigh } from './weigh.ts';

/** The slot feeds the carrier too, so its total can refuse a module but not accept one. */
export const slotPowerRule: FitRule = {
  id: 'slot-power',
  title: 'Total power of the slot',
  clause: 'common practice: the slot feeds carrier and module',
  check: seated((c) => {
    const limit = c.slot?.total_power;
    const power = modulePower(c);
    if (c.slot === undefined || limit === undefined || power === undefined) return [];
    const over = against(power.span, limit.value) !== 'within';
    const left = {
      low: sub(limit.value.low, power.span.high),
      high: sub(limit.value.high, power.span.low),
    };
    const words = `the module takes ${spanText(power.span, 'W')} of ${limit.value.text}`;
    return [
      weigh({
        id: 'slot-power',
        level: over ? 'stop' : 'caution',
        subject: `total power of ${c.slot.id}`,
        message: over
          ? words
          : `${words}; ${spanText(left, 'W')} is left for ${c.carrier.id} itself`,
        decidedBy: [...power.values, measured(`total power of ${c.slot.id}`, limit)],
        clause: 'common practice: the slot feeds carrier and module (no source)',
        next: over
          ? 'Choose a slot that gives more, or a module build that draws less.'
          : `Compare what is left with the power of ${c.carrier.id} on its data sheet.`,
      }),
    ];
  }),
};
