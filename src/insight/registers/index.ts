/** Register dumps decoded. The public names, one by one. */
export { decodeFunction } from './decode.ts';
export { fieldOf, fieldValue, registerOf, structureOf } from './find.ts';
export { type RegisterFindingId, registerFindingIds } from './notes.ts';
