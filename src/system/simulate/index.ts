/** The packet-level simulation of a network; see docs/simulator.md. */
export { type AccountExplanation, type Explanation, explainDifference } from './explain.ts';
export {
  type SimulationOptions,
  type SimulationResult,
  type StreamResult,
  simulateNetwork,
} from './run.ts';
export type { Moment, Observer } from './series.ts';
