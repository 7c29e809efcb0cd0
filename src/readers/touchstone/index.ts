/** Network parameter files: text to matrices by frequency. */
export { type ReadNetwork, readTouchstone } from './read.ts';
export {
  type NetworkData,
  type NetworkParameter,
  type TouchstoneProblemCode,
  touchstoneProblemCodes,
} from './types.ts';
