/** Register dumps decoded. The public names, one by one. */
export { decodeFunction, type PlacedFunction, placeFunction } from './decode.ts';
export { fieldOf, fieldValue, registerOf, structureOf } from './find.ts';
export { type RegisterFindingId, registerFindingIds } from './notes.ts';
export { StructureTexts } from './text.ts';
