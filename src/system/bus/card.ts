/** The module as a master of its segment, and the segment's arbiter, at any corner. */
import {
  type BusConfig,
  type MasterConfig,
  type SingleMaster,
  steady,
} from '../../links/pci/index.ts';
import { bytes } from '../../quantity/index.ts';
import { busSpeed, pcixLimits } from '../../standards/pci-bus.ts';
import { wholeRange } from '../given-range.ts';
import type { Corner } from '../parameters.ts';
import type { BusCase, ComeUp } from './come-up.ts';
import type { BusReader } from './reader.ts';
import { burstLengths, busStanding, standingOf } from './standing.ts';

export interface Master {
  burst(corner: Corner): number;
  master(corner: Corner, kind: 'write' | 'read'): MasterConfig;
  command(kind: 'write' | 'read'): SingleMaster['stream']['command'];
  /** The master with the pause that makes up the overhead stated; as it is where none is. */
  paced(corner: Corner, single: SingleMaster): MasterConfig;
}

export function cardAt({ case: c, card }: BusCase, up: ComeUp, reader: BusReader): Master {
  const owner = c.module.id;
  const { mode } = busSpeed(up.speed);
  const whole = (
    id: string,
    effect: 'raises' | 'lowers' | 'depends',
    given: Parameters<BusReader['whole']>[1],
    standing: Parameters<BusReader['whole']>[2],
  ) => reader.whole({ owner, id, effect }, given, standing);
  const burst = reader.whole(
    { owner, id: 'burst', effect: 'depends', legal: burstLengths },
    card.burst,
    busStanding.burst,
  );
  const timer = whole(
    'latency_timer',
    'depends',
    card.latency_timer,
    standingOf('latency_timer', mode),
  );
  const initial = whole('initial_wait', 'depends', card.initial_wait, busStanding.first_wait);
  const later = whole('subsequent_wait', 'lowers', card.subsequent_wait, busStanding.later_wait);
  const after = card.overhead
    ? undefined
    : whole('request_after', 'depends', card.request_after, busStanding.request_after);
  const pause = whole('retry_pause', 'depends', card.retry_pause, busStanding.retry_pause);
  const out = whole('outstanding', 'raises', card.outstanding_splits, busStanding.outstanding);
  const overhead =
    card.overhead && whole('overhead', 'lowers', card.overhead, busStanding.overhead);
  const reads = c.streams.some((s) => s.direction.value === 'from host');
  const count =
    mode === 'pcix' && reads
      ? reader.whole(
          {
            owner,
            id: 'read_byte_count',
            effect: 'depends',
            legal: pcixLimits.readByteCounts.bytes,
          },
          c.module.dma?.request_size,
          standingOf('read_byte_count', mode),
        )
      : undefined;
  const extended = mode === 'pcix';
  const common = {
    name: owner,
    widthBits: up.moduleBits,
    boundaryBytes: card.boundary ? bytes(card.boundary.value) : 0,
    lineBytes: card.cache_line ? bytes(card.cache_line.value) : 64,
    fastBackToBack: !extended && card.fast_back_to_back?.value === true,
    keepsRequest: card.keeps_request?.value === true,
  };
  const master: Master['master'] = (corner, kind) => {
    const asked = corner[burst]!;
    const read = kind === 'read' && count !== undefined;
    return {
      ...common,
      latencyTimer: corner[timer]!,
      burstBytes: read ? Math.min(asked, corner[count]!) : asked,
      initialWait: extended ? 0 : corner[initial]!,
      subsequentWait: extended ? 0 : corner[later]!,
      requestAfter: after === undefined ? 1 : corner[after]!,
      retryPause: corner[pause]!,
      outstanding: Math.min(32, corner[out]!),
    };
  };
  return {
    burst: (corner) => corner[burst]!,
    master,
    command: (kind) =>
      kind === 'write'
        ? extended
          ? 'write'
          : (card.write_command?.value ?? 'write')
        : extended
          ? 'read line'
          : (card.read_command?.value ?? 'read multiple'),
    paced: (corner, single) => {
      if (overhead === undefined) return single.master;
      return withOverhead(single, corner[overhead]!);
    },
  };
}

/** Clocks of one whole burst to the host, as the segment alone makes them. */
function burstClocks({ bus, target }: SingleMaster, master: MasterConfig) {
  const time = steady({
    bus,
    master: { ...master, outstanding: 1 },
    target,
    stream: {
      kind: 'write',
      command: 'write',
      target: 0,
      address: 0,
      bytes: master.burstBytes,
      gap: 0,
      count: 1,
    },
  });
  const width = Math.min(master.widthBits, bus.widthBits, target.widthBits) / 8;
  return { clocks: time.clocks, data: Math.ceil(master.burstBytes / width) };
}

/**
 * The pause before REQ# comes again that makes a burst's overhead what is stated. What the protocol and
 * the target take is part of it; nothing is left for a pause where they take as much already.
 */
export function withOverhead(single: SingleMaster, overhead: number): MasterConfig {
  const master = { ...single.master, keepsRequest: false };
  let after = 1;
  // A parked GNT# swallows the first clocks of a pause, so the second step corrects the first.
  for (let round = 0; round < 3; round++) {
    const { clocks, data } = burstClocks(single, { ...master, requestAfter: after });
    after = Math.max(1, after + overhead - (clocks - data));
  }
  return { ...master, requestAfter: after };
}

export function arbiterAt({ case: c, segment }: BusCase, up: ComeUp, reader: BusReader) {
  const owner = `segment of ${c.carrier!.part.id}`;
  const { mode } = busSpeed(up.speed);
  const { arbiter } = segment;
  const grant = reader.whole(
    { owner, id: 'grant_clocks', effect: 'depends' },
    arbiter?.grant_clocks,
    standingOf('grant_clocks', mode),
  );
  const early = reader.whole(
    { owner, id: 'early_end', effect: 'depends' },
    mode === 'pcix' ? segment.early_end : undefined,
    standingOf('early_end', mode),
  );
  return (corner: Corner): BusConfig => ({
    speed: up.speed,
    widthBits: up.widthBits,
    arbiter: {
      rule: arbiter?.rule?.value ?? 'rotating',
      grantClocks: corner[grant]!,
      parking: arbiter?.parking?.value ?? 'last',
    },
    terminationClocks: Math.min(16, corner[early]!),
  });
}

/** The expected bytes of a given size, rounded into its range. */
export function expectedBytes(given: { value: Parameters<typeof wholeRange>[0] }): number {
  return wholeRange(given.value).expected;
}
