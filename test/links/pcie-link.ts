/** A link and a flow to vary: everything plain unless a test says otherwise. */
import type { Demand, Flow } from '../../src/links/fabric.ts';
import { type PcieConfig, pcie, type Receiver } from '../../src/links/pcie/index.ts';
import { toNumber } from '../../src/quantity/index.ts';
import { skpRule } from '../../src/standards/pcie-link.ts';

export const many = Number.POSITIVE_INFINITY;

export const receiver: Receiver = {
  postedHeaders: many,
  postedData: many,
  nonpostedHeaders: many,
  creditReturnTicks: 0,
  packetsPerAck: 1,
  packetsPerUpdate: many,
};

export function link(over: Partial<PcieConfig> = {}): PcieConfig {
  const { generation = 1, width = 8, maxPayload = 128, clocking = 'common' } = over;
  return {
    generation,
    width,
    maxPayload,
    completionPayload: maxPayload,
    skpInterval: skpRule(generation, width, clocking).longest,
    ecrc: false,
    rootSide: receiver,
    moduleSide: receiver,
    ...over,
  };
}

export function flow(over: Partial<Flow> = {}): Flow {
  return {
    stream: 's',
    kind: 'write',
    transferBytes: 4096,
    startOffset: 0,
    wideAddress: false,
    requestBytes: 512,
    transfersPerInterrupt: 0,
    ...over,
  };
}

export const seconds = (ticks: number, config: PcieConfig): number =>
  ticks * toNumber(pcie.tick(config));

/** Bytes per second of one direction that carries nothing else, after clock compensation. */
export function throughput(
  { bytes, wire }: Demand,
  config: PcieConfig,
  direction: 'up' | 'down' = 'up',
): number {
  const { interval, lost } = pcie.compensation(config);
  return (bytes / seconds(wire[direction], config)) * (1 - lost / interval);
}
