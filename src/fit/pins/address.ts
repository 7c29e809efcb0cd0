import type { Finding } from '../../model/finding.ts';
import { pinRow } from '../../standards/pins/index.ts';
import { type FitRule, type SeatedContext, seated, siteText } from '../rule.ts';
import { weigh } from '../weigh.ts';
import { useValue } from './meet.ts';

const id = 'pin-address';
const clause =
  'common practice: the address is found by a scan (read in the schematic ' +
  'github.com/elhep/XMC_ZynQ at a854b0e: GA2 is the lowest address bit there)';

/** GA0 to GA2. */
const straps = ['F10', 'C12', 'C14'] as const;

function check(c: SeatedContext): readonly Finding[] {
  const ours = c.module.connectors.P15?.pins;
  const theirs = c.site.connectors.P15?.pins;
  if (ours === undefined || theirs === undefined) return [];
  const both = straps.filter((pin) => ours[pin] && theirs[pin]);
  if (both.length === 0) return [];
  const values = both.flatMap((pin) => [
    useValue(c.module.id, pin, ours[pin]!),
    useValue(c.carrier.id, pin, theirs[pin]!),
  ]);
  const names = both.map((pin) => pinRow('P15', pin).signal).join(', ');
  return [
    weigh({
      id,
      level: 'caution',
      subject: `address on the management bus, ${c.module.id} on ${siteText(c)}`,
      message:
        `the carrier sets ${names}; designs differ in which of them is the lowest address bit, ` +
        'so the address does not follow from the straps',
      decidedBy: values,
      clause,
      next: 'Scan the management bus with the module fitted, and note the address that answers.',
    }),
  ];
}

/** Straps of the management address, whose order differs between designs. */
export const addressRule: FitRule = {
  id,
  title: 'Address on the management bus',
  clause,
  check: seated(check),
};
