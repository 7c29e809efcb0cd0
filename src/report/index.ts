export { cleanText } from './clean.ts';
export { csvText } from './csv.ts';
export { answerHtml } from './html/answer.ts';
export { dayOf, type PrintOptions, printAnswer } from './print/answer.ts';
export type { PrintDocument } from './print/model.ts';
export { briefing } from './slides/briefing.ts';
export type { Briefing, Slide, SlideLine } from './slides/model.ts';
export { answerText, type Section, sections, type TextOptions } from './text/answer.ts';
export { calibrationText } from './text/calibration.ts';
export { predictionText } from './text/calibration-prediction.ts';
export { captureText } from './text/capture.ts';
export { captureBesideText } from './text/capture-beside.ts';
export { type CompareLook, compareText } from './text/compare.ts';
export { diagnosisText } from './text/diagnosis.ts';
export { dumpComparisonText } from './text/diagnosis-comparison.ts';
export { notSeenText } from './text/diagnosis-not-seen.ts';
export { dumpText } from './text/dump.ts';
export { type Paint, plain, type Role } from './text/page.ts';
export {
  type PartEntry,
  type PartSheet,
  type PartValue,
  partsText,
  partText,
} from './text/parts.ts';
export { pinSheetsCsv, pinsCsv, pinsText, rearCsv } from './text/pins.ts';
export { problemText } from './text/problems.ts';
export { reconciliationText } from './text/reconcile.ts';
export { replacementCsv, replacementText } from './text/replace.ts';
export { simulationText } from './text/simulation.ts';
export { worstLevel } from './words.ts';
