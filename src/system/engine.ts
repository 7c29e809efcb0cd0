/** The module's engine: pauses, reads in flight, its own data path, and what its descriptors cost. */
import type { DescriptorTraffic } from '../links/fabric.ts';
import { bytes, toNumber } from '../quantity/index.ts';
import type { Case, Stream } from './case.ts';
import type { DataPath } from './dma.ts';
import type { ParameterReader, Role } from './given-range.ts';
import type { EnginePauses, NetworkHop, ReadWindow, StreamLimit } from './network.ts';
import type { Corner } from './parameters.ts';
import type { PowerStates } from './power.ts';
import type { ReadPath } from './read-path.ts';

/** What a stream moved by the module's engine is held by, besides the links. */
export interface Engine {
  /** Engine that sends the stream's packets. */
  key(stream: Stream): string;
  readonly descriptors: DescriptorTraffic | undefined;
  pauses(corner: Corner, kind: 'write' | 'read', transferBytes: number): EnginePauses;
  reads(corner: Corner, requestBytes: number): ReadWindow;
  limits(corner: Corner, kind: 'write' | 'read', transferBytes: number): StreamLimit[];
}

export function moduleEngine(
  c: Case,
  reader: ParameterReader,
  first: NetworkHop,
  path: ReadPath,
  power: PowerStates,
): Engine {
  const owner = c.module.id;
  const dma = c.module.dma;
  const role = (id: Role['id'], effect: 'raises' | 'lowers'): Role => ({ owner, id, effect });
  const time = (id: Role['id'], given: Parameters<ParameterReader['time']>[1]) =>
    reader.time(role(id, 'lowers'), given, first.tick);
  const gap = time('gap_per_packet', dma?.gap_per_packet);
  const chunkGap = time('gap_per_chunk', dma?.gap_per_chunk);
  const setup = time('setup_per_transfer', dma?.setup_per_transfer);
  const interval = (named: string, path: DataPath | undefined) =>
    reader.time(
      { owner: named, id: 'transfer_interval', effect: 'lowers' },
      path?.transfer_interval ?? dma?.transfer_interval,
      first.tick,
    );
  const intervals = {
    write: interval(`${owner} writes`, dma?.write_path),
    read: interval(`${owner} reads`, dma?.read_path),
  };
  const descriptorGap = time('descriptor_gap', dma?.descriptors?.gap);
  const tags = c.module.pcie?.tags?.value ?? Number.MAX_SAFE_INTEGER;
  const outstanding = reader.whole(
    role('outstanding_requests', 'raises'),
    dma?.outstanding_requests,
    {
      low: 1,
      expected: tags,
      high: tags,
    },
  );
  const room = dma?.completion_buffer ? bytes(dma.completion_buffer.value) : undefined;
  const paths = {
    write: dma?.write_path && dataPath(owner, 'writes', dma.write_path, reader, first),
    read: dma?.read_path && dataPath(owner, 'reads', dma.read_path, reader, first),
  };
  const descriptors = dma?.descriptors && descriptorTraffic(dma.descriptors);
  const fetched = dma?.descriptors?.prefetched?.value ?? true;
  const pieces = (transferBytes: number) =>
    descriptors ? Math.ceil(transferBytes / descriptors.covers) : 0;
  return {
    key: (stream) => `${owner} channel ${stream.channel?.value ?? 0} ${stream.direction.value}`,
    descriptors,
    pauses: (corner, _kind, transferBytes) => {
      const steps = pieces(transferBytes);
      const fetches = descriptors && !fetched ? Math.ceil(steps / descriptors.fetchBatch) : 0;
      // A fetch that is not read ahead keeps the engine waiting for a whole round trip.
      const wait = Number(path.latency(corner) / first.scale) * fetches;
      const idle = corner[setup]! + corner[descriptorGap]! * steps + wait;
      const powerExit = power.exitAfter(corner, idle);
      return {
        perPacket: corner[gap]!,
        perChunk: corner[chunkGap]!,
        perTransfer: idle + powerExit,
        powerExit,
      };
    },
    reads: (corner, requestBytes) => {
      const asked = corner[outstanding]!;
      const held = room === undefined ? asked : Math.max(1, Math.floor(room / requestBytes));
      const window = Math.min(asked, held);
      const why = window < asked ? 'the completion buffer is spoken for' : 'are outstanding';
      return {
        key: `${owner} reads`,
        window,
        latency: path.latency(corner),
        ...path.spread(corner),
        inOrder: dma?.reads_in_order?.value === true,
        cause: window < asked ? `${why}: ${window} requests` : `all ${window} read requests ${why}`,
      };
    },
    limits: (corner, kind, transferBytes) => {
      const found = path.translation(corner, transferBytes);
      const side = paths[kind];
      if (side) found.push(side(corner, transferBytes));
      const apart = corner[intervals[kind]]!;
      if (apart > 0) {
        found.push({
          key: `${owner} ${kind} transfers`,
          kind: 'engine',
          account: 'source_gap',
          cause: 'the engine starts no more transfers a second',
          perTransfer: BigInt(apart) * first.scale,
          capacity: { n: 1n, d: 1n },
        });
      }
      return found;
    },
  };
}

/** Steps of the engine's own path: whole steps for the data, and some for each transfer. */
function dataPath(
  owner: string,
  side: 'writes' | 'reads',
  path: DataPath,
  reader: ParameterReader,
  first: NetworkHop,
) {
  const named = `${owner} ${side}`;
  const width = bytes(path.width.value);
  const clock = reader.perSecond({ owner: named, id: 'path_clock', effect: 'raises' }, path.clock);
  const more = reader.whole(
    { owner: named, id: 'path_steps', effect: 'lowers' },
    path.steps_per_transfer,
  );
  const held = reader.time(
    { owner: named, id: 'path_time', effect: 'lowers' },
    path.time_per_transfer,
    first.tick,
  );
  // A tick of the first hop is n / d seconds, so clock × n steps in d ticks.
  const { n, d } = first.tick;
  return (corner: Corner, transferBytes: number): StreamLimit => {
    const perTicks = BigInt(corner[clock]!) * n;
    const steps = BigInt(Math.ceil(transferBytes / width) + corner[more]!);
    return {
      key: named,
      kind: 'engine',
      account: 'source_gap',
      cause: `the engine's path for ${side} is full: ${width} B a step`,
      perTransfer: steps * d + BigInt(corner[held]!) * perTicks,
      capacity: { n: perTicks, d: first.scale },
    };
  };
}

function descriptorTraffic(d: NonNullable<NonNullable<Case['module']['dma']>['descriptors']>) {
  const count = (given: { value: { expected: Parameters<typeof toNumber>[0] } } | undefined) =>
    given ? toNumber(given.value.expected) : 1;
  return {
    bytes: bytes(d.size.value),
    covers: bytes(d.covers.value),
    fetchBatch: count(d.fetch_batch),
    writeBackBytes: d.write_back ? bytes(d.write_back.value) : 0,
    writeBackBatch: count(d.write_back_batch),
  } satisfies DescriptorTraffic;
}
