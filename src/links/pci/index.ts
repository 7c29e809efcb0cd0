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
  StreamConfig,
  TargetConfig,
  WriteCommand,
} from './config.ts';
export { type PhaseDefinition, type PhaseId, phaseIndex, phases } from './layout.ts';
export { accountsOf, type BusTime, rateOf, run, type SingleMaster, steady } from './single.ts';
