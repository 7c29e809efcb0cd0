/** Codes of what can be wrong with a value change dump; docs/waveforms.md explains each. */
export const vcdProblemCodes = [
  'not-vcd',
  'vcd-bytes',
  'vcd-change',
  'vcd-code',
  'vcd-command',
  'vcd-empty',
  'vcd-end',
  'vcd-extended',
  'vcd-long',
  'vcd-many',
  'vcd-scope',
  'vcd-time',
  'vcd-time-order',
  'vcd-time-range',
  'vcd-timescale',
  'vcd-value',
  'vcd-var',
  'vcd-width',
] as const;
export type VcdProblemCode = (typeof vcdProblemCodes)[number];

/** Ids of findings of the reader; docs/waveforms.md explains each. */
export const vcdFindingIds = ['vcd-cut', 'vcd-off', 'vcd-unread', 'vcd-values'] as const;
