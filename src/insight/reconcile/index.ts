/** Reconciling: measured points beside the prediction, and what explains the difference. */

export { meets } from './explain.ts';
export { possibleChanges, type SettingChange, type SettingChanges } from './possible.ts';
export { type Reconciled, reconcilePoints } from './reconcile.ts';
export { type SettleOptions, settleByCeiling } from './settle.ts';
export { shapeOf } from './shape.ts';
export { type EvidenceItem, type Taken, takeEvidence } from './take.ts';
export { explainTogether } from './together.ts';
export { verdictOf } from './verdict.ts';
