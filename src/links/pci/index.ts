/** Conventional PCI and PCI-X, clock by clock: the public names, one by one. */
export { checkSegment, isReadByteCount, mostAgents } from './check.ts';
export type { AgentCounts } from './clocks/agent.ts';
export { BusSimulation, type SimulationOptions } from './clocks/bus.ts';
export {
  type Ending,
  type TransactionClocks,
  type TransactionRequest,
  transaction,
} from './closed.ts';
export type {
  ArbiterConfig,
  ArbiterRule,
  BusConfig,
  DisconnectAt,
  MasterConfig,
  Posting,
  ReadCommand,
  SegmentConfig,
  SingleMaster,
  StreamConfig,
  TargetConfig,
  WriteCommand,
} from './config.ts';
export { type PhaseDefinition, type PhaseId, phaseIndex, phases } from './layout.ts';
export {
  type CardPins,
  type Negotiated,
  negotiate,
  type SegmentLimits,
} from './negotiate.ts';
export { type BusParameter, type BusParameterId, pciParams } from './params.ts';
export {
  type BufferDepth,
  type Load,
  type Need,
  type Share,
  shares,
  turnsOf,
} from './sharing.ts';
export {
  accountsOf,
  type BusTime,
  fewestClocks,
  rateOf,
  run,
  steady,
} from './single.ts';
export { type Tenure, tenures, type WorstWait, worstWaits } from './tenure.ts';
