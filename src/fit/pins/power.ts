import { connectorIds } from '../../system/parts.ts';
import type { PinPurpose, PinUse } from '../../system/pins.ts';
import { type FitRule, seated } from '../rule.ts';
import { gathered, judge, type PinVerdict } from './gather.ts';
import { meetings, type PinMeeting } from './meet.ts';

const id = 'pin-power';
const clause = 'common practice, no source: a supply pin meets the same supply';

const stop = (why: string, next: string): PinVerdict => ({ level: 'stop', why, next });
const shorted = 'Do not mate or power: find which of the two pin maps is wrong.';

function ofPower(module: PinUse, carrier: PinUse): PinVerdict {
  const [ours, theirs] = [module.level?.value, carrier.level?.value];
  if (ours === undefined || theirs === undefined) {
    return {
      level: 'unknown',
      why: 'voltage of a supply pin not stated',
      next: 'Get the voltage of these pins from both data sheets.',
    };
  }
  if (ours === theirs) return { level: 'ok', why: 'one supply', next: '' };
  return stop(`${theirs} supplied where the module takes ${ours}`, shorted);
}

/** One side has a supply on the pin, the other something else. */
function against(other: PinPurpose, powered: 'module' | 'carrier'): PinVerdict | undefined {
  if (other === 'ground') return stop('a supply on ground', shorted);
  if (other === 'signal' || other === 'pull-up' || other === 'pull-down') {
    return stop('a supply on a signal', shorted);
  }
  if (powered === 'carrier') return undefined;
  if (other === 'rear') {
    return stop(
      'a supply pin of the module led to the backplane',
      'Keep the backplane from driving it, and find where the module gets this supply.',
    );
  }
  return {
    level: 'caution',
    why: 'a supply pin without a supply',
    next: 'Check that the supply pins left carry the current.',
  };
}

function verdictOf({ module, carrier }: PinMeeting): PinVerdict | undefined {
  if (module === undefined || carrier === undefined) return undefined;
  const [ours, theirs] = [module.use.value, carrier.use.value];
  if (ours === 'power' && theirs === 'power') return ofPower(module, carrier);
  if (ours === 'power') return against(theirs, 'module');
  return theirs === 'power' ? against(ours, 'carrier') : undefined;
}

/** What this rule says of each meeting. */
export const powerOf = (all: readonly PinMeeting[]) => judge(all, verdictOf);

/** Supplies meet supplies of one voltage, and nothing else. */
export const pinPowerRule: FitRule = {
  id,
  title: 'Supplies pin by pin',
  clause,
  check: seated((c) =>
    connectorIds.flatMap((connector) => {
      const head = { id, what: 'supply pins', clause, holds: 'each meets the same supply' };
      return gathered(c, connector, head, powerOf(meetings(c, connector)));
    }),
  ),
};
