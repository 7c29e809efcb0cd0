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
    const standing = against(power.span, limit.value);
    const left = {
      low: sub(limit.value.low, power.span.high),
      high: sub(limit.value.high, power.span.low),
    };
    const words = `the module takes ${spanText(power.span, 'W')} of ${limit.value.text}`;
    const verdicts = {
      within: {
        level: 'caution',
        message: `${words}; ${spanText(left, 'W')} is left for ${c.carrier.id} itself`,
        next: `Compare what is left with the power of ${c.carrier.id} on its data sheet.`,
      },
      overlap: {
        level: 'unknown',
        message: `${words}: it may not be enough`,
        next: 'Get the guaranteed power of the slot and the measured power of the module.',
      },
      beyond: {
        level: 'stop',
        message: words,
        next: 'Choose a slot that gives more, or a module build that draws less.',
      },
    } as const;
    return [
      weigh({
        id: 'slot-power',
        subject: `total power of ${c.slot.id}`,
        decidedBy: [...power.values, measured(`total power of ${c.slot.id}`, limit)],
        clause: 'common practice: the slot feeds carrier and module (no source)',
        ...verdicts[standing],
      }),
    ];
  }),
};
