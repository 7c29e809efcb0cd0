/** The public library entry: a case file and a library of parts in, an answer document out. */
export { fitCautions } from '../fit/index.ts';
export { type Sampling, type WaveformMode, waveformModes } from '../insight/waveform/index.ts';
export type { Answer } from '../model/answer.ts';
export type { CalibrationDocument, PredictionDocument } from '../model/calibration.ts';
export type { CaptureDocument } from '../model/capture.ts';
export type { CompareDocument } from '../model/compare.ts';
export { describeProblem, InputError, type Problem } from '../model/problem.ts';
export type { Reconciliation } from '../model/reconcile.ts';
export type { SimulationDocument } from '../model/simulation.ts';
export type { Part, PartKind } from '../system/parts.ts';
export {
  caseJsonSchema,
  combineLibraries,
  evidenceOf,
  type Library,
  libraryOf,
  type NewCase,
  newCaseText,
  partJsonSchema,
  partsFolderOf,
  type Read,
  readCase,
  readPart,
  rearMapsOf,
  type SourceFile,
  setInText,
  type TextPath,
} from '../system/read/index.ts';
export { type AnswerOptions, answerCase } from './answer.ts';
export { type CalibratedCase, calibrateCase } from './calibrate.ts';
export type { CalibrateWish } from './calibrate-wish.ts';
export { captureBeside } from './capture-beside.ts';
export { type CaseFiles, compareCases } from './compare.ts';
export {
  type Asked,
  type CaseOfDumpWish,
  type ComparedDump,
  caseOfDump,
  compareDumps,
  diagnoseDump,
  notSeenBelow,
} from './diagnose.ts';
export { documentOf, dumpOf, dumpOfFolder } from './dump.ts';
export { dumpJson, dumpJsonOf } from './dump-json.ts';
export { type ChannelLoss, lossOf, type PortOrder, portOrders } from './loss.ts';
export { acceptanceForm, FORM_NAME, type OwedOptions } from './owed/index.ts';
export { connectorPins, rearPins } from './pin-tables.ts';
export { type PredictWish, predictCase } from './predict.ts';
export { type RearMapFile, readRearMap } from './rear-maps.ts';
export {
  type EvidenceFile,
  type ReconcileOptions,
  readMapping,
  reconcileCase,
} from './reconcile.ts';
export { type ReplaceWish, replaceInCase } from './replace.ts';
export { type Figure, figuresOf, runSeeds, withRuns } from './runs.ts';
export { type SeriesWish, seriesBeginning } from './series.ts';
export {
  type CaseSimulation,
  openSimulation,
  type SimulateOptions,
  simulateCase,
} from './simulate.ts';
export { type BusSimulated, type BusSimulateWish, simulateBusCase } from './simulate-bus.ts';
export { rowsBeginning } from './take-rows.ts';
export { TAKEN_MAX, type TakeWish, takeWaveform } from './take-waveform.ts';
export { version } from './version.ts';
