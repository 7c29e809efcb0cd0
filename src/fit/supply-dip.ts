import type { Finding } from '../model/finding.ts';
import { compare } from '../quantity/index.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { against } from './span.ts';
import { measured, weigh } from './weigh.ts';

const id = 'supply-dip';
const clause = 'common practice: boards hold up through the dips of their supply (no source)';

function check(c: SeatedContext): readonly Finding[] {
  const { slot } = c;
  const dip = slot?.supply_dip;
  if (slot === undefined || dip === undefined) return [];
  // The carrier feeds the module, so either of them may bridge the dip, and the carrier has to.
  const { hold_up: carriers } = c.carrier;
  const head = { id, subject: `dips of the supply of ${slot.id}`, clause };
  const need = measured(`longest dip of ${slot.id}`, dip);
  if (carriers === undefined) {
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: `dips of ${dip.value.text}; hold_up of ${c.carrier.id} is not given`,
        decidedBy: [need],
        next: `Get the hold-up time of ${c.carrier.id} at full load, from its own supply inputs.`,
      }),
    ];
  }
  const { hold_up: modules } = c.module;
  const longer = modules && compare(modules.value.low, carriers.value.low) > 0;
  const standing = against(dip.value, carriers.value);
  const note = longer ? `; ${c.module.id} alone holds ${modules.value.text}` : '';
  return [
    weigh({
      ...head,
      level: standing === 'within' ? 'ok' : standing === 'beyond' ? 'stop' : 'unknown',
      message: `dips of ${dip.value.text}, ${c.carrier.id} holds ${carriers.value.text}${note}`,
      decidedBy: [need, measured(`hold-up of ${c.carrier.id}`, carriers)],
      beside: modules ? [measured(`hold-up of ${c.module.id}`, modules)] : [],
      next: {
        within: '',
        overlap: 'Measure dips and hold-up at full load.',
        beyond:
          'Add hold-up before the slot, or expect a restart and the start-up time at each dip.',
      }[standing],
    }),
  ];
}

/** Dips of the slot's supply against the time the carrier holds up. */
export const supplyDipRule: FitRule = {
  id,
  title: 'Dips of the supply',
  clause,
  check: seated(check),
};
