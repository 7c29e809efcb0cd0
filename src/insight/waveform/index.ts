/** Waveforms as evidence. The public names, one by one. */
export type { BoundLine, LineWishes } from './bind.ts';
export type { EdgeTimes, Sampling } from './clock.ts';
export { findingsOf } from './findings.ts';
export { waveformFindingIds, waveformProblemCodes } from './ids.ts';
export {
  type BusReading,
  readWaveform,
  type StreamReading,
  type WaveformMode,
  type WaveformOptions,
  type WaveformReading,
  waveformModes,
} from './read.ts';
export type { StreamPacket } from './stream-observe.ts';
