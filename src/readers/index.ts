/** Evidence: bytes of tables, logs and captures to records. The public names, one by one. */
export { type CaptureOptions, captureFrames, readCapture } from './capture.ts';
export type { DelimiterName } from './delimited.ts';
export { groupRepeats, spreadOf } from './groups.ts';
export {
  type CheckedMapping,
  checkMapping,
  type EvidenceMapping,
  type TableFormat,
  type TimeOf,
} from './mapping.ts';
export { type ReaderProblemCode, readerFindingIds, readerProblemCodes } from './notes.ts';
export { readPacketLog, type TrafficOptions } from './packets.ts';
export { readSetting, type SettingReading, type SettingRole, settingRoles } from './settings.ts';
export { type Settlement, settleTable, standardChoices } from './settle.ts';
export { type EvidenceKind, evidenceKind } from './source.ts';
export { type EvidenceOptions, readTimingTable } from './timing.ts';
export type {
  Ambiguity,
  AmbiguityKind,
  ByteChunks,
  CaptureDirection,
  CapturedFrame,
  CaptureInterface,
  CaptureSummary,
  CaptureTime,
  Choice,
  DirectionTotal,
  FlowDirection,
  GapHistogram,
  KindTotal,
  MeasuredDirection,
  MeasuredValue,
  PacketLog,
  RateOf,
  ReaderNotes,
  RepeatGroup,
  Spread,
  TimingRow,
  TimingSettings,
  TimingTable,
  Traffic,
  WindowTotal,
} from './types.ts';
export { readUnit, type UnitReading, type UnitRole } from './units.ts';
