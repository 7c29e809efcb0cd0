import type { Finding, Level } from '../../model/finding.ts';
import { citation } from '../../standards/mezzanine-cited.ts';
import { pinRow } from '../../standards/pins/index.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { tabled, weigh } from '../weigh.ts';
import { useValue } from './meet.ts';

const id = 'pin-presence';
const row = pinRow('P15', 'F12');

function verdict(purpose: string): { level: Level; message: string; next: string } {
  switch (purpose) {
    case 'pull-up':
      return {
        level: 'ok',
        message: 'the module grounds MPRESENT#, the carrier pulls it up',
        next: '',
      };
    case 'signal':
      return {
        level: 'caution',
        message: 'the carrier reads MPRESENT#; a pull-up is not stated',
        next: 'Check for a pull-up: without one an empty site may read as fitted.',
      };
    default:
      return {
        level: 'caution',
        message: `MPRESENT# is ${purpose} on the carrier: it cannot tell that a module is there`,
        next: 'Check what waits for it: bypass of the JTAG chain, power of the site, start-up.',
      };
  }
}

function check(c: SeatedContext): readonly Finding[] {
  const pins = c.site.connectors.P15?.pins;
  if (pins === undefined || c.module.connectors.P15 === undefined) return [];
  const head = {
    id,
    subject: `presence of ${c.module.id} on ${siteText(c)}`,
    clause: `${citation(row)}; common practice: the carrier pulls it up`,
  };
  const use = pins.F12;
  const ours = c.module.connectors.P15.pins?.F12;
  const mine = ours ? [useValue(c.module.id, 'F12', ours)] : [];
  const grounded = tabled('P15 pin F12', 'MPRESENT#, grounded on the module', row);
  if (use === undefined) {
    return [
      weigh({
        ...head,
        level: 'unknown',
        message: 'what the carrier does with F12, MPRESENT#, is not stated',
        decidedBy: [grounded],
        next: "Take F12 from the carrier's pin map: a pull-up is needed.",
      }),
    ];
  }
  const values = [useValue(c.carrier.id, 'F12', use), ...mine, grounded];
  if (ours !== undefined && ours.use.value !== 'ground') {
    return [
      weigh({
        ...head,
        level: 'caution',
        message: `the module does not ground MPRESENT#: ${ours.use.value}`,
        decidedBy: values,
        next: 'Check how the carrier learns that the module is there.',
      }),
    ];
  }
  return [weigh({ ...head, ...verdict(use.use.value), decidedBy: values })];
}

/** The carrier can tell that a module is there. Asked where it lists pins of P15. */
export const presenceRule: FitRule = {
  id,
  title: 'MPRESENT# pulled up by the carrier',
  clause: citation(row),
  check: seated(check),
};
