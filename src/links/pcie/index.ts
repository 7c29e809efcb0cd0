/** PCI Express as a fabric: the contract of `../fabric.ts`, generations 1 to 5. */
import { accounts } from '../../model/accounts.ts';
import type { Direction } from '../../model/answer.ts';
import {
  ackLatencyLimit,
  generationRow,
  type PayloadSize,
  skpSpacing,
} from '../../standards/pcie-link.ts';
import type { Fabric, Flow } from '../fabric.ts';
import { compensation, family, tick } from './charge.ts';
import { carriers, demand, limits, readTrip, requests } from './closed.ts';
import type { PcieConfig, Receiver } from './config.ts';
import { pcieParams } from './params.ts';
import { wireBytes } from './sizes.ts';
import { paddedBytes } from './split.ts';

export type { PcieConfig, Receiver } from './config.ts';

/** `2.5 GT/s x4`. */
function describe(config: PcieConfig): string {
  return `${generationRow(config.generation).transfersPerSecond / 1e9} GT/s x${config.width}`;
}

/**
 * Most packets of `bytes` that one Ack may cover: the Ack timer starts with the first packet not yet
 * acknowledged, may run to twice the limit (its tolerance is -0 %, +100 %; Base Specification 6.3
 * §3.6.3.1), and all that arrive meanwhile share the Ack.
 *
 * @param bytes of one packet on the wire, framing included
 */
export function mostPacketsPerAck(
  config: Pick<PcieConfig, 'generation' | 'width' | 'maxPayload'>,
  bytes: number,
): number {
  const { generation, width, maxPayload } = config;
  const limit = ackLatencyLimit(generation, width, maxPayload as PayloadSize);
  // One packet lasts bytes / width symbol times.
  return 1 + Math.floor((2 * limit * width) / bytes);
}

/** Bytes of the shortest packet that a flow sends in a direction. */
function shortestPacket(flow: Flow, config: PcieConfig, direction: Direction): number {
  const sizes = { headerDw: 3, ecrc: false, family: family(config) } as const;
  if (flow.kind === 'read' && direction === 'up')
    return wireBytes('MRd', { ...sizes, payloadBytes: 0 });
  const kind = flow.kind === 'write' ? 'MWr' : 'CplD';
  const payloads = carriers(flow, config).map(({ bytes, lead }) => paddedBytes(bytes, lead));
  return wireBytes(kind, { ...sizes, payloadBytes: Math.min(...payloads) });
}

function cheapest(given: PcieConfig, flow: Flow): PcieConfig {
  const config = {
    ...given,
    ecrc: false,
    completionPayload: given.maxPayload,
    skpInterval: skpSpacing[family(given)].longest,
  };
  const end = (direction: Direction): Receiver => ({
    postedHeaders: Number.POSITIVE_INFINITY,
    postedData: Number.POSITIVE_INFINITY,
    nonpostedHeaders: Number.POSITIVE_INFINITY,
    creditReturnTicks: 0,
    packetsPerAck: mostPacketsPerAck(config, shortestPacket(flow, config, direction)),
    packetsPerUpdate: Number.POSITIVE_INFINITY,
  });
  return { ...config, rootSide: end('up'), moduleSide: end('down') };
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
