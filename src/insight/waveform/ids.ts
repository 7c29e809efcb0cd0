/** Codes of what keeps a waveform from being read as an interface; docs/waveforms.md explains each. */
export const waveformProblemCodes = [
  'signal-missing',
  'signal-two',
  'signal-wish',
  'signals-two',
  'waveform-clock',
  'waveform-mode',
  'waveform-width',
] as const;
export type WaveformProblemCode = (typeof waveformProblemCodes)[number];

/** Ids of findings, up to a `/`; docs/waveforms.md explains each. */
export const waveformFindingIds = [
  'signal-polarity',
  'signal-scope',
  'signal-two',
  'waveform-bytes',
  'waveform-clock',
  'waveform-damage',
  'waveform-grants',
  'waveform-initial',
  'waveform-lacks',
  'waveform-master',
  'waveform-mode',
  'waveform-no-address',
  'waveform-perr',
  'waveform-reserved',
  'waveform-serr',
  'waveform-subsequent',
  'waveform-time',
  'waveform-unknown',
  'waveform-withdrawn',
] as const;
export type WaveformFindingId = (typeof waveformFindingIds)[number];
