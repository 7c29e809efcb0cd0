import type { Finding } from '../model/finding.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import { keyRow } from '../standards/mezzanine-edges.ts';
import { type FitRule, type SeatedContext, seated, siteText } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'signalling';

function check(c: SeatedContext): readonly Finding[] {
  const [ours, theirs] = [c.module.connectors.P11, c.site.connectors.P11];
  if (ours === undefined || theirs === undefined) return [];
  const { signalling } = c.module;
  const { key } = c.site;
  const head = {
    id,
    subject: `key of ${siteText(c)} for ${c.module.id}`,
    clause: citation(keyRow),
  };
  if (signalling === undefined || signalling.length === 0 || key === undefined) {
    const gap = key === undefined ? `key of ${siteText(c)}` : `signalling of ${c.module.id}`;
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: `not given: ${gap}; PCI signals at 3.3 V or 5 V, as the carrier's key pin sets`,
        decidedBy: [],
        next: `Get ${gap} from the data sheet, or look at key pin and holes.`,
      }),
    ];
  }
  const takes = signalling.map((s) => s.value);
  const fits = takes.includes(key.value);
  return [
    weigh({
      ...head,
      level: fits ? 'ok' : 'stop',
      message: `the key sets ${key.value}; the module takes ${takes.join(' and ')}`,
      decidedBy: [
        given(`signalling of ${c.module.id}`, signalling[0]!, takes.join(' and ')),
        given(`key of ${siteText(c)}`, key),
        tabled('rule', 'the key refuses what it would harm', keyRow),
      ],
      next: fits
        ? ''
        : 'The module does not seat; never cut a key. Choose a build for this voltage.',
    }),
  ];
}

/** PCI signalling voltage: the carrier's key pin against the module's holes. */
export const signallingRule: FitRule = {
  id,
  title: 'PCI signalling voltage',
  clause: citation(keyRow),
  check: seated(check),
};
