export { cleanText } from './clean.ts';
export { answerHtml } from './html/answer.ts';
export { answerText, type Section, sections, type TextOptions } from './text/answer.ts';
export { type Paint, plain, type Role } from './text/page.ts';
export {
  type PartEntry,
  type PartSheet,
  type PartValue,
  partsText,
  partText,
} from './text/parts.ts';
export { problemText } from './text/problems.ts';
export { reconciliationText } from './text/reconcile.ts';
export { simulationText } from './text/simulation.ts';
export { worstLevel } from './words.ts';
