/** Rear I/O: how patterns are written, what they carry, and where they leave the board. */

export type { RearPattern } from './patterns.ts';
export { rearPattern, rearPatterns, signalsPerWafer, wafersOf } from './patterns.ts';
export type { ParsedPlacement, PlacedPattern, Placement, PlacementProblem } from './placement.ts';
export { parsePlacement } from './placement.ts';
export type { VmePattern } from './vme.ts';
export { vmePattern, vmePatterns } from './vme.ts';
export type { ConnectorWafers, WaferContact } from './wafers.ts';
export { connectorWafers, signalContacts, waferContacts, waferRow } from './wafers.ts';
