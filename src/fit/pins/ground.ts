import { connectorIds } from '../../system/parts.ts';
import type { PinUse } from '../../system/pins.ts';
import { type FitRule, seated } from '../rule.ts';
import { gathered, judge, type PinVerdict } from './gather.ts';
import { meetings, type PinMeeting } from './meet.ts';
import { strapped } from './straps.ts';

const id = 'pin-ground';
const clause =
  'common practice, no source: user I/O that is not used floats on the module (read for one ' +
  'profile in the SOSA Technical Standard, Edition 1.0 Snapshot 2 (2019), Rule 5.2.21-3)';

const ok: PinVerdict = { level: 'ok', why: 'ground on ground', next: '' };

/** The module grounds a pin with which the carrier does something. */
function byModule({ row, carrier }: PinMeeting): PinVerdict | undefined {
  switch (carrier?.use.value) {
    case 'ground':
      return ok;
    case 'rear':
      return {
        level: 'caution',
        why: 'grounded on the module, led to the rear by the carrier',
        next: 'Leave these contacts of the backplane open: what drives them meets ground.',
      };
    case 'signal':
      if (carrier.direction?.value === 'in') {
        return {
          level: 'caution',
          why: 'grounded on the module, read by the carrier',
          next: 'Check that the carrier may read a constant low there.',
        };
      }
      return {
        level: 'stop',
        why: 'grounded on the module, driven by the carrier',
        next: 'Do not mate: the driver meets ground. Use a build that leaves these pins open.',
      };
    case 'pull-up':
      // Being grounded is how the module says that it is there.
      if (row.signal === 'MPRESENT#') return ok;
      return {
        level: 'caution',
        why: 'grounded on the module, pulled up by the carrier',
        next: 'Check the current through the pull-ups, and what the low level means there.',
      };
    default:
      return undefined;
  }
}

/** The carrier grounds a pin with which the module does something. */
function byCarrier({ row }: PinMeeting, module: PinUse): PinVerdict | undefined {
  // Ground is one of the two settings of a strap.
  const reads = module.use.value === 'pull-up' || module.direction?.value === 'in';
  if (reads && strapped.has(row.signal)) return { ...ok, why: 'a strap set to ground' };
  switch (module.use.value) {
    case 'signal':
      return {
        level: 'stop',
        why: 'grounded on the carrier, a signal of the module',
        next: 'Do not mate: the signal meets ground. Choose a carrier that leaves these pins free.',
      };
    case 'pull-up':
      return {
        level: 'caution',
        why: 'grounded on the carrier, pulled up by the module',
        next: 'Check that this strap is what the build needs.',
      };
    default:
      return undefined;
  }
}

function verdictOf(meeting: PinMeeting): PinVerdict | undefined {
  const { module, carrier } = meeting;
  if (module?.use.value === 'ground') return byModule(meeting);
  return carrier?.use.value === 'ground' && module ? byCarrier(meeting, module) : undefined;
}

/** What this rule says of each meeting. */
export const groundOf = (all: readonly PinMeeting[]) => judge(all, verdictOf);

/** Ground meets ground, and no signal. */
export const pinGroundRule: FitRule = {
  id,
  title: 'Grounds pin by pin',
  clause,
  check: seated((c) =>
    connectorIds.flatMap((connector) => {
      const head = { id, what: 'ground pins', clause, holds: 'ground meets ground' };
      return gathered(c, connector, head, groundOf(meetings(c, connector)));
    }),
  ),
};
