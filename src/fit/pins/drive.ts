import { connectorIds } from '../../system/parts.ts';
import type { PinUse } from '../../system/pins.ts';
import { type FitRule, seated } from '../rule.ts';
import { gathered, judge, type PinVerdict } from './gather.ts';
import { meetings, type PinMeeting } from './meet.ts';

const id = 'pin-drive';
const clause = 'common practice, no source: one driver a net';

const ok: PinVerdict = { level: 'ok', why: 'one driver', next: '' };

/** Several open-drain outputs may share a net. */
const sharesOpenDrain = (a: PinUse, b: PinUse) =>
  a.level?.value === 'open drain' && b.level?.value === 'open drain';

const nobody: PinVerdict = {
  level: 'caution',
  why: 'no driver',
  next: 'Find out which board should drive these pins, and what the input reads when none does.',
};

function ofSignals(module: PinUse, carrier: PinUse): PinVerdict {
  const ours = module.direction?.value;
  const theirs = carrier.direction?.value;
  if (ours === undefined || theirs === undefined) {
    return {
      level: 'unknown',
      why: 'direction not stated',
      next: 'Get the direction of these pins from both pin maps.',
    };
  }
  if (ours === 'out' && theirs === 'out' && !sharesOpenDrain(module, carrier)) {
    return {
      level: 'stop',
      why: 'two drivers',
      next:
        'Do not mate. Transmit and receive are named from the module side and do not cross in ' +
        'the connector: check whose view each part takes.',
    };
  }
  return ours === 'in' && theirs === 'in' ? nobody : ok;
}

function verdictOf({ module, carrier }: PinMeeting): PinVerdict | undefined {
  if (module === undefined || carrier === undefined) return undefined;
  const [ours, theirs] = [module.use.value, carrier.use.value];
  if (ours === 'signal' && theirs === 'signal') return ofSignals(module, carrier);
  if (ours === 'signal' && module.direction?.value === 'in') {
    if (theirs === 'open') return nobody;
    return theirs === 'pull-up' || theirs === 'pull-down' ? ok : undefined;
  }
  if (theirs === 'signal' && carrier.direction?.value === 'in') {
    if (ours === 'open') return nobody;
    return ours === 'pull-up' || ours === 'pull-down' ? ok : undefined;
  }
  return undefined;
}

/** What this rule says of each meeting. */
export const driveOf = (all: readonly PinMeeting[]) => judge(all, verdictOf);

/** Each net has one driver: two are a stop, none is a caution. */
export const pinDriveRule: FitRule = {
  id,
  title: 'One driver a pin',
  clause,
  check: seated((c) =>
    connectorIds.flatMap((connector) => {
      const head = { id, what: 'drivers', clause, holds: 'each net has one driver' };
      return gathered(c, connector, head, driveOf(meetings(c, connector)));
    }),
  ),
};
