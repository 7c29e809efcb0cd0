import { type Finding, type FindingValue, type Level, worse } from '../model/finding.ts';
import { loadsRow } from '../standards/environment-classes.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Given } from '../system/given.ts';
import type { Endurance, Load } from '../system/thermal.ts';
import { type FitRule, type SeatedContext, seated } from './rule.ts';
import { given, weigh } from './weigh.ts';

const id = 'environment';

interface Side extends Endurance {
  readonly id: string;
}

/** `withstands` of one board: stated true, stated false, or not stated. */
function answer({ id: name, withstands }: Side, load: Load) {
  const said = withstands?.[load];
  const level = said === undefined ? 'unknown' : said.value ? 'ok' : 'stop';
  const words = { ok: 'withstands it', stop: 'does not withstand it', unknown: 'does not say' };
  const value: FindingValue | undefined = said && given(`${load}: ${name}`, said);
  return { name, level: level as Level, value, words: `${name} ${words[level]}` };
}

/** Words of a load for an id: `environment/salt-fog`. */
const slug = (load: Load) => load.replaceAll(' ', '-');

function checkLoad(c: SeatedContext, slot: string, asked: Given<Load>): Finding {
  const load = asked.value;
  const answers = [c.module, c.carrier].map((side) => answer(side, load));
  const level = answers.map((a) => a.level).reduce(worse);
  const open = answers.filter((a) => a.level === 'unknown').map((a) => a.name);
  const against = answers.filter((a) => a.level === 'stop').map((a) => a.name);
  return weigh({
    id: `${id}/${slug(load)}`,
    level,
    subject: `${load} in ${slot}`,
    message: answers.map((a) => a.words).join('; '),
    decidedBy: [
      given(`load of ${slot}`, asked),
      ...answers.flatMap((a) => (a.value === undefined ? [] : [a.value])),
    ],
    clause: citation(loadsRow),
    next: {
      ok: '',
      caution: '',
      unknown: `Ask the maker of ${open.join(' and of ')} in writing, with the test behind it.`,
      stop: `Order ${against.join(' and ')} in a build that withstands it, or another enclosure.`,
    }[level],
  });
}

/** Loads of the place against what module and carrier state; what is not stated is not known. */
export const environmentRule: FitRule = {
  id,
  title: 'Loads of the place',
  clause: citation(loadsRow),
  check: seated((c) => {
    const { slot } = c;
    const seen = new Set<Load>();
    return (slot?.environment ?? []).flatMap((asked) => {
      if (seen.has(asked.value)) return [];
      seen.add(asked.value);
      return [checkLoad(c, slot!.id, asked)];
    });
  }),
};
