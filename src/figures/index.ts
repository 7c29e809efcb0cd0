/** Figures as SVG, each a pure function of a document: the same in page, report and file. */
export { answerPathFigure, ledgerFigure, sustainedFigure } from './from-answer.ts';
export { calibrationFigures } from './from-calibration.ts';
export { compareFigure } from './from-compare.ts';
export { anatomyFigure, sensitivityFigure } from './from-owed.ts';
export { type NamedFigure, reconciliationFigures } from './from-reconcile.ts';
export { pinSheetFigure, pinTableFigure } from './pins.ts';
export { rearFigure } from './rear.ts';
export { type TimingDiagram, timingDiagram, type WaveJson, waveJson } from './timing-diagram.ts';
