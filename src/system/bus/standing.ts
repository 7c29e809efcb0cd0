/** What stands of a bus where a case and its parts say nothing. */

import type { BusMode } from '../../standards/pci-bus.ts';
import { busDefaultRows } from '../../standards/pci-bus-defaults.ts';
import type { Standing } from './reader.ts';

/** A row of the table of bus defaults. */
export function standingOf(id: keyof typeof busDefaultRows, mode: BusMode): Standing {
  const { title, unit, range, basis, reference, ask } = busDefaultRows[id];
  return { title, unit, range: range(mode), basis, reference, ask };
}

function assumed(
  title: string,
  unit: Standing['unit'],
  [low, expected, high]: readonly [number, number, number],
  ask: string,
): Standing {
  return { title, unit, range: { low, expected, high }, basis: 'assumed', reference: '', ask };
}

/** Lengths of bursts that are tried where it is not known. */
export const burstLengths = [64, 128, 256, 512, 1024, 2048, 4096] as const;

const waveform = 'a waveform of REQ#, GNT#, FRAME#, IRDY# and TRDY#';

/** Ranges that no source gives; each says what would replace it. */
export const busStanding = {
  burst: assumed(
    'longest burst',
    'bytes',
    [64, 512, 4096],
    'data sheet of the card, or a waveform',
  ),
  request_after: assumed('clocks until REQ# comes again', 'clocks', [1, 2, 4], waveform),
  none: assumed('late clocks', 'clocks', [0, 0, 0], waveform),
  overhead: assumed('clocks of a burst beside those of its data', 'clocks', [0, 0, 0], waveform),
  later_wait: assumed('late clocks of each later data phase', 'clocks', [0, 0, 0], waveform),
  first_wait: assumed('late clocks of the first IRDY#', 'clocks', [0, 0, 0], waveform),
  retry_pause: assumed('clocks REQ# stays off beyond the rule', 'clocks', [0, 0, 0], waveform),
  outstanding: assumed(
    'split reads outstanding',
    'count',
    [1, 1, 1],
    'PCI-X Command register of the card',
  ),
  pending: assumed('reads worked on at once', 'count', [1, 4, 8], 'data sheet of the bridge'),
  prefetch: assumed(
    'bytes fetched for a read',
    'bytes',
    [128, 512, 4096],
    'registers of the bridge',
  ),
  bridge_delay: assumed(
    "its own part of a read's delay",
    'clocks',
    [0, 20, 40],
    'data sheet of the bridge',
  ),
  overlap: assumed(
    'part of its own waits that its traffic the other way fits into',
    'count',
    [0, 0, 1],
    'a waveform of both at once',
  ),
  setup: assumed('time between two transfers', 'clocks', [0, 0, 0], 'the driver'),
} as const;
