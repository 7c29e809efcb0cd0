/** Reading case and part files: text to resolved objects, every problem with its place. */

export { type NewCase, newCaseText } from '../template/new-case.ts';
export { setInText, type TextPath } from '../text/edit.ts';
export type { SourceFile } from '../text/parse.ts';
export { type ProblemCode, problemCodes } from '../text/problems.ts';
export { type Choose, caseReader, readCase } from './case.ts';
export type { Library, Read } from './context.ts';
export { evidenceOf, readMappingFile } from './evidence.ts';
export { partsFolderOf } from './folder.ts';
export { combineLibraries, libraryOf } from './library.ts';
export { readPart } from './part.ts';
export { rearMapsOf } from './rear-maps.ts';
export { caseJsonSchema, partJsonSchema } from './schemas.ts';
