/**
 * A domain-free discrete-event kernel: integer time, stable order, random streams, checkpoints.
 * Imports nothing of this project and no Node API.
 */
export type { DelayLine } from './delayline.ts';
export { hashState } from './hash.ts';
export { type Ended, type Handler, Kernel } from './kernel.ts';
export { lastTime, mostKinds, mostPending } from './limits.ts';
export { RandomStream, splitSeed } from './random.ts';
export { type Stateful, StateReader, StateWriter } from './state.ts';
export type { Timer } from './timer.ts';
