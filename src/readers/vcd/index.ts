/** Value change dumps: bytes to values of chosen variables. The public names, one by one. */
export { VARIABLES_MAX } from './declarations.ts';
export { type VcdProblemCode, vcdFindingIds, vcdProblemCodes } from './problems.ts';
export { readVcd, type VcdOptions, VcdReading, WORD_MAX } from './reader.ts';
export type {
  BitRange,
  OffSpan,
  VcdDeclarations,
  VcdSummary,
  VcdVariable,
  VcdWatch,
} from './types.ts';
export { type VcdValues, WIDTH_MAX } from './values.ts';
