/** Calibration: parameters of a device and its host from measured transfers, and predictions from them. */
export {
  type CalibrateOptions,
  type Calibration,
  calibrate,
  type ImpossiblePoint,
  reasonsAgainst,
  specOf,
  type UnfitPoint,
  type UsedPoint,
} from './calibrate.ts';
export { variantName } from './choose.ts';
export { type Explanation, explanationsOf } from './explanations.ts';
export { intervalsOf, type ParameterInterval, unseparated } from './intervals.ts';
export type { KindKnowledge, Knowledge, KnownExplanation } from './knowledge.ts';
export {
  type CalibrationKey,
  calibrationKeys,
  calibrationParameters,
  parameterOf,
  rangeText,
  type Values,
  valueText,
} from './parameters.ts';
export { type PredictedPoint, predictPoints, predictTogether } from './predict.ts';
export { knowledgeOf, writtenKnowledge, writtenValues } from './save.ts';
