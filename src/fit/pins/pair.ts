import { connectorIds } from '../../system/parts.ts';
import type { PinUse } from '../../system/pins.ts';
import { type FitRule, seated } from '../rule.ts';
import { gathered, type Judged, type PinVerdict } from './gather.ts';
import { meetings, type PinMeeting } from './meet.ts';

const id = 'pin-pair';
const clause = 'common practice, no source: both halves of a pair run side by side to its far end';

const reaches = (use: PinUse | undefined) =>
  use !== undefined && use.use.value !== 'open' && use.use.value !== 'ground';

/** A pair of the module against what the carrier does with its two pins. */
function ofPair(
  p: PinUse | undefined,
  n: PinUse | undefined,
  names: readonly [string, string],
): PinVerdict | undefined {
  // Where the carrier says nothing of a pair, `rear-signals` asks for its map.
  if (p === undefined && n === undefined) return undefined;
  if (reaches(p) !== reaches(n)) {
    return {
      level: 'stop',
      why: 'half of a pair goes nowhere',
      next: 'Choose a carrier that routes both halves.',
    };
  }
  // Routed pins that no map pairs are weighed with their pattern, by `rear-pairs`.
  if (p?.use.value === 'rear' && p.mate === undefined && n?.mate === undefined) {
    return { level: 'ok', why: 'routed together', next: '' };
  }
  if (p?.mate === undefined || n?.mate === undefined) {
    return {
      level: 'caution',
      why: 'a pair on pins that the carrier treats singly',
      next: 'Ask for the impedance and the skew of these tracks.',
    };
  }
  if (p.mate !== names[1]) {
    return {
      level: 'stop',
      why: 'halves of one pair on two pairs of the carrier',
      next: 'Do not mate: compare the pairing of both pin maps.',
    };
  }
  if (p.polarity === 'p') return { level: 'ok', why: 'a pair on a pair', next: '' };
  return {
    level: 'caution',
    why: 'halves of a pair swapped',
    next: 'Check that the receiver inverts polarity, or invert it in the module.',
  };
}

/** One judgement a pair, at its p pin. */
export function pairsOf(all: readonly PinMeeting[]): readonly Judged[] {
  const by = new Map(all.map((m) => [m.pin, m]));
  return all.flatMap((meeting): Judged[] => {
    const { module, pin } = meeting;
    if (module?.use.value !== 'signal' || module.polarity !== 'p') return [];
    const mate = by.get(module.mate ?? '');
    if (mate === undefined) return [];
    const verdict = ofPair(meeting.carrier, mate.carrier, [pin, mate.pin]);
    return verdict === undefined ? [] : [{ meeting, verdict }];
  });
}

/** Pairs of the module meet pairs of the carrier, both halves, in the same order. */
export const pinPairRule: FitRule = {
  id,
  title: 'Pairs stay pairs',
  clause,
  check: seated((c) =>
    connectorIds.flatMap((connector) => {
      const holds = 'each meets a pair';
      const head = { id, what: 'pairs', unit: 'pairs' as const, clause, holds };
      return gathered(c, connector, head, pairsOf(meetings(c, connector)));
    }),
  ),
};
