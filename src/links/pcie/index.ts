/** PCI Express as a fabric: the contract of `../fabric.ts`, generations 1 to 5. */
import { accounts } from '../../model/accounts.ts';
import {
  ackLatencyLimit,
  generationRow,
  type PayloadSize,
  skpSpacing,
} from '../../standards/pcie-link.ts';
import type { Fabric } from '../fabric.ts';
import { compensation, family, tick } from './charge.ts';
import { demand, limits, readTrip, requests } from './closed.ts';
import type { PcieConfig, Receiver } from './config.ts';
import { pcieParams } from './params.ts';
import { wireBytes } from './sizes.ts';

export type { PcieConfig, Receiver } from './config.ts';

/** `2.5 GT/s x4`. */
function describe(config: PcieConfig): string {
  return `${generationRow(config.generation).transfersPerSecond / 1e9} GT/s x${config.width}`;
}

/**
 * Fewest Acks that the Ack latency limit allows for back-to-back packets of full payload: the timer
 * starts with the first unacknowledged packet, and all that arrive before it ends share one Ack.
 */
export function mostPacketsPerAck(
  config: Pick<PcieConfig, 'generation' | 'width' | 'maxPayload'>,
): number {
  const { generation, width, maxPayload } = config;
  const bytes = wireBytes('MWr', {
    headerDw: 3,
    ecrc: false,
    family: generationRow(generation).family,
    payloadBytes: maxPayload,
  });
  const limit = ackLatencyLimit(generation, width, maxPayload as PayloadSize);
  // One packet lasts bytes / width symbol times.
  return 1 + Math.floor((limit * width) / bytes);
}

function cheapest(config: PcieConfig): PcieConfig {
  const end: Receiver = {
    postedHeaders: Number.POSITIVE_INFINITY,
    postedData: Number.POSITIVE_INFINITY,
    nonpostedHeaders: Number.POSITIVE_INFINITY,
    creditReturnTicks: 0,
    packetsPerAck: mostPacketsPerAck(config),
    packetsPerUpdate: Number.POSITIVE_INFINITY,
  };
  return {
    ...config,
    ecrc: false,
    completionPayload: config.maxPayload,
    skpInterval: skpSpacing[family(config)].longest,
    rootSide: end,
    moduleSide: end,
  };
}

const leavesOut = [
  'Packets follow each other without the fill to allowed start lanes on links of eight lanes and more.',
  'SKP ordered sets cost nothing where an engine pauses longer than one takes: at most 0.34 %.',
  'No bit errors and replays, no power states, no flit mode, no spread spectrum on separate clocks.',
  'Credits return after a fixed time; completions come in order after a fixed latency.',
] as const;

export const pcie: Fabric<PcieConfig> = {
  id: 'pcie',
  accounts: accounts.filter((a) => a.fabrics.includes('pcie')).map((a) => a.id),
  leavesOut,
  params: pcieParams,
  tick,
  describe,
  compensation,
  demand,
  limits,
  requests,
  readTrip,
  cheapest,
};
