import { connectorIds } from '../../system/parts.ts';
import type { PinLevel, PinUse } from '../../system/pins.ts';
import { type FitRule, seated } from '../rule.ts';
import { gathered, judge, type PinVerdict } from './gather.ts';
import { meetings, type PinMeeting } from './meet.ts';

const id = 'pin-level';
const clause = 'common practice, no source: both ends of a net have one electrical level';

/** Volts of single-ended logic, by level. */
const logic: ReadonlyMap<PinLevel, number> = new Map([
  ['1.2 V', 1.2],
  ['1.5 V', 1.5],
  ['1.8 V', 1.8],
  ['2.5 V', 2.5],
  ['3.3 V', 3.3],
  ['5 V', 5],
]);

const coupled: readonly PinLevel[] = ['LVDS', 'CML', 'LVPECL'];
const party: readonly PinLevel[] = ['RS-422', 'RS-485'];

const ask = (why: string, next: string): PinVerdict => ({ level: 'caution', why, next });

/** Levels that differ: some meet with care, the others must not. */
export function different(driver: PinLevel, receiver: PinLevel): PinVerdict {
  const [out, into] = [logic.get(driver), logic.get(receiver)];
  const names = `${driver} into ${receiver}`;
  if (out !== undefined && into !== undefined && out < into) {
    return ask(names, "Compare the driver's high level with the receiver's threshold.");
  }
  if (coupled.includes(driver) && coupled.includes(receiver)) {
    return ask(names, 'Check coupling capacitors, swing and termination at the receiver.');
  }
  if (party.includes(driver) && party.includes(receiver)) {
    return ask(names, 'Check termination, and that the driver is enabled at all times.');
  }
  if (driver === 'open drain' || receiver === 'open drain') {
    return ask(names, 'Find the pull-up and its voltage.');
  }
  return {
    level: 'stop',
    why: names,
    next: 'Do not mate: the levels do not belong together. Choose builds with one level.',
  };
}

function compare(ours: PinUse, theirs: PinUse): PinVerdict {
  if (ours.level === undefined || theirs.level === undefined) {
    return {
      level: 'unknown',
      why: 'level not stated',
      next: 'Get the electrical level of these pins from both data sheets.',
    };
  }
  const [a, b] = [ours.level.value, theirs.level.value];
  if (a === b) return { level: 'ok', why: 'one level', next: '' };
  // Without a driver both ways are possible, and the worse one counts.
  if (ours.direction?.value === 'out' || theirs.direction?.value === 'in') return different(a, b);
  if (theirs.direction?.value === 'out' || ours.direction?.value === 'in') return different(b, a);
  const [there, back] = [different(a, b), different(b, a)];
  return there.level === 'stop' ? there : back;
}

function verdictOf({ module, carrier }: PinMeeting): PinVerdict | undefined {
  if (module?.use.value !== 'signal' || carrier?.use.value !== 'signal') return undefined;
  return compare(module, carrier);
}

/** What this rule says of each meeting. */
export const levelOf = (all: readonly PinMeeting[]) => judge(all, verdictOf);

/** Signals meet their counterpart at one electrical level. */
export const pinLevelRule: FitRule = {
  id,
  title: 'Electrical levels pin by pin',
  clause,
  check: seated((c) =>
    connectorIds.flatMap((connector) => {
      const head = { id, what: 'levels', clause, holds: 'both ends have one level' };
      return gathered(c, connector, head, levelOf(meetings(c, connector)));
    }),
  ),
};
