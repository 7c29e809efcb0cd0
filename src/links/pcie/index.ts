/** PCI Express as a fabric: the contract of `../fabric.ts`, generations 1 to 6. */
import { accounts } from '../../model/accounts.ts';
import type { Direction } from '../../model/answer.ts';
import {
  ackLatencyLimit,
  generationRow,
  type PayloadSize,
  skpRule,
} from '../../standards/pcie-link.ts';
import type { Fabric, Flow } from '../fabric.ts';
import { compensation, family, tick } from './charge.ts';
import { demand, readTrip } from './closed.ts';
import type { PcieConfig, Receiver } from './config.ts';
import { limits } from './credits.ts';
import { carriers, requests } from './packets.ts';
import { pcieParams } from './params.ts';
import { losses } from './replay.ts';
import { wireBytes } from './sizes.ts';
import { paddedBytes } from './split.ts';

export { unsupported } from './closed.ts';
export type { Credits, PcieConfig, Receiver } from './config.ts';

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
    return wireBytes('MRd', { payloadBytes: 0, ...sizes });
  const kind = flow.kind === 'write' ? 'MWr' : 'CplD';
  const payloads = carriers(flow, config).map(({ bytes, lead }) => paddedBytes(bytes, lead));
  return wireBytes(kind, { payloadBytes: Math.min(...payloads), ...sizes });
}

function cheapest(given: PcieConfig, flow: Flow): PcieConfig {
  const { generation, width, clocking } = given;
  const config: PcieConfig = {
    generation,
    width,
    maxPayload: given.maxPayload,
    completionPayload: given.maxPayload,
    skpInterval: skpRule(generation, width, clocking).longest,
    ecrc: false,
    rootSide: given.rootSide,
    moduleSide: given.moduleSide,
    ...(clocking === undefined ? {} : { clocking }),
  };
  const end = (direction: Direction): Receiver => ({
    postedHeaders: infinite,
    postedData: infinite,
    nonpostedHeaders: infinite,
    creditReturnTicks: 0,
    packetsPerAck: fewestAcks(config, flow, direction),
    packetsPerUpdate: infinite,
  });
  return { ...config, rootSide: end('up'), moduleSide: end('down') };
}

const infinite = Number.POSITIVE_INFINITY;

function fewestAcks(config: PcieConfig, flow: Flow, direction: Direction): number {
  if (family(config) === '1b1b') return 1;
  return mostPacketsPerAck(config, shortestPacket(flow, config, direction));
}

const leavesOut = [
  'SKP ordered sets cost nothing where an engine pauses longer than one takes: at most 0.34 %.',
  'Credit updates that no packet asks for, one of each kind every 30 us: at most 0.11 % each, at x1.',
  'Credits return after a fixed time; completions come in order after a fixed latency.',
  'A process identifier is charged to completions as well; in flits it shares a header word.',
  'At 64 GT/s at most 16 packets begin in a flit: only bare requests one after another could be more.',
] as const;

export const pcie: Fabric<PcieConfig> = {
  id: 'pcie',
  accounts: accounts.filter((a) => a.fabrics.includes('pcie')).map((a) => a.id),
  leavesOut,
  params: pcieParams,
  tick,
  describe,
  compensation,
  losses,
  demand,
  limits,
  requests,
  readTrip,
  cheapest,
};
