/** Times from stable power until a PCI Express device has to answer. */
import type { Cited } from './mezzanine-cited.ts';

export interface StartRow extends Cited {
  readonly milliseconds: number;
}

/** Least time from stable power to the release of PERST#. */
export const resetReleaseRow: StartRow = {
  milliseconds: 100,
  document: 'PCI Express Card Electromechanical Specification',
  clause: 'TPVPERL, power stable to PERST# inactive, 100 ms or more (from memory)',
  basis: 'memory',
};

/** Longest time from the release of reset until a port is ready to train. */
export const readyToTrainRow: StartRow = {
  milliseconds: 20,
  document: 'PCI Express Base Specification',
  clause: '§6.6.1, ready to train within 20 ms of the end of reset (from memory)',
  basis: 'memory',
};

/** Least time from the end of reset to the first configuration request. */
export const firstRequestRow: StartRow = {
  milliseconds: 100,
  document: 'PCI Express Base Specification',
  clause: '§6.6.1, first configuration request 100 ms or more after the end of reset (from memory)',
  basis: 'memory',
};

/** How long a configuration takes. */
export const configurationTimeRow: Cited = {
  document: 'common practice',
  clause: 'power-on reset + image / (compression × width × clock) + time to be ready (no source)',
  basis: 'practice',
};
