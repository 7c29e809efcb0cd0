/** Streams of a case, and the traffic of its neighbours, as flows over the hops of a network. */
import type { Flow } from '../links/fabric.ts';
import { bytes, div, mul, type Rational, rational, toNumber } from '../quantity/index.ts';
import type { Case, Neighbour, Stream } from './case.ts';
import type { Engine } from './engine.ts';
import { type ParameterReader, smaller } from './given-range.ts';
import type { Crossing, NetworkHop, NetworkStream } from './network.ts';
import type { Corner } from './parameters.ts';
import type { Processor } from './processor.ts';
import { stageLimits } from './stages.ts';

const noPauses = { perPacket: 0, perChunk: 0, perTransfer: 0, powerExit: 0 } as const;

/** Shape of a stream's transfers at a corner. */
function shapeOf(c: Case, stream: Stream, reader: ParameterReader, hops: readonly NetworkHop[]) {
  const owner = `stream ${stream.name}`;
  const { transfer } = stream;
  const depends = (id: 'transfer_size' | 'start_offset' | 'transfers_per_interrupt') =>
    ({ owner, id, effect: 'depends' }) as const;
  const size = reader.whole(depends('transfer_size'), transfer?.size);
  const offset = reader.whole(depends('start_offset'), transfer?.start_offset);
  const buffer = transfer?.buffer;
  const wide = reader.flag(
    { owner, id: 'address_above_4_gib', effect: 'lowers' },
    buffer ? { ...buffer, value: buffer.value === 'above 4 GiB' } : undefined,
  );
  const interrupts = reader.whole(
    depends('transfers_per_interrupt'),
    c.module.dma?.transfers_per_interrupt,
  );
  const limit = Math.min(...hops.map((h) => h.requestLimit));
  const request = reader.whole(
    { owner, id: 'request_size', effect: 'depends' },
    smaller(c.module.dma?.request_size, c.settings.Max_Read_Request_Size),
    { low: 64, expected: limit, high: limit },
  );
  return { size, offset, wide, interrupts, request };
}

/** Transfers per interrupt once moderation has its say: none closer together than its interval. */
function moderated(c: Case, stream: Stream, transferBytes: number, asked: number): number {
  const interval = c.module.dma?.interrupt_interval;
  if (!interval || asked === 0) return asked;
  const perTransfer = div(rational(transferBytes * 8), stream.required.value.expected);
  const least = Math.ceil(toNumber(div(interval.value.expected, perTransfer)));
  return Math.max(asked, least);
}

/** A stream that the module's engine moves. */
export function engineStream(
  c: Case,
  stream: Stream,
  reader: ParameterReader,
  hops: readonly NetworkHop[],
  crossings: readonly Crossing[],
  engine: Engine,
  tick: Rational,
): NetworkStream {
  const at = shapeOf(c, stream, reader, hops);
  const chunk = c.module.dma?.chunk && bytes(c.module.dma.chunk.value);
  const kind = stream.direction.value === 'to host' ? 'write' : 'read';
  const prefixes = c.settings.prefixes?.value ?? 0;
  const stages = stageLimits(stream, reader, tick);
  return {
    name: stream.name,
    stream,
    crossings,
    wanted: wantedOf(c, stream),
    engine: engine.key(stream),
    flow: (corner: Corner): Flow => ({
      stream: stream.name,
      kind,
      transferBytes: corner[at.size]!,
      startOffset: corner[at.offset]!,
      wideAddress: corner[at.wide] === 1,
      requestBytes: corner[at.request]!,
      transfersPerInterrupt: moderated(c, stream, corner[at.size]!, corner[at.interrupts]!),
      ...(chunk === undefined ? {} : { chunkBytes: chunk }),
      ...(prefixes === 0 ? {} : { prefixes }),
      ...(stream.virtual_channel ? { virtualChannel: stream.virtual_channel.value } : {}),
      ...(engine.descriptors ? { descriptors: engine.descriptors } : {}),
    }),
    pauses: (corner) => engine.pauses(corner, kind, corner[at.size]!),
    reads: (corner) => engine.reads(corner, corner[at.request]!),
    limits: (corner) => [
      ...engine.limits(corner, kind, corner[at.size]!),
      ...stages(corner, corner[at.size]!),
    ],
  };
}

/** A stream that a processor moves with loads and stores of its own. */
export function processorStream(
  c: Case,
  stream: Stream,
  reader: ParameterReader,
  hops: readonly NetworkHop[],
  crossings: readonly Crossing[],
  processor: Processor,
  tick: Rational,
): NetworkStream {
  const at = shapeOf(c, stream, reader, hops);
  // To the host the processor loads from the module; from the host it stores to it.
  const kind = stream.direction.value === 'to host' ? 'read' : 'write';
  const combining = stream.moved_by?.value === 'processor, write-combining';
  const stages = stageLimits(stream, reader, tick);
  return {
    name: stream.name,
    stream,
    crossings,
    wanted: wantedOf(c, stream),
    flow: (corner) => ({
      stream: stream.name,
      kind,
      transferBytes: corner[at.size]!,
      startOffset: corner[at.offset]!,
      wideAddress: corner[at.wide] === 1,
      requestBytes: processor.accessBytes(corner, false),
      writeBytes: processor.accessBytes(corner, combining),
      transfersPerInterrupt: 0,
    }),
    pauses: () => noPauses,
    reads: (corner) => processor.reads(corner),
    limits: (corner) => [
      ...processor.limits(corner, kind, combining, corner[at.size]!),
      ...stages(corner, corner[at.size]!),
    ],
  };
}

/** What other devices take from the hops they share: page-sized transfers, no more than they ask. */
export function neighbourStream(
  neighbour: Neighbour,
  crossings: readonly Crossing[],
  scale: bigint,
): NetworkStream {
  const kind = neighbour.direction.value === 'to host' ? 'write' : 'read';
  const rate = neighbour.rate.value.high;
  return {
    name: neighbour.name,
    crossings,
    wanted: rate,
    most: mul(rate, rational(1, 8)),
    flow: () => ({
      stream: neighbour.name,
      kind,
      transferBytes: 4096,
      startOffset: 0,
      wideAddress: true,
      requestBytes: 512,
      transfersPerInterrupt: 0,
    }),
    pauses: () => noPauses,
    // Its own reads in flight are its own affair: enough of them for its rate.
    reads: () => ({ key: neighbour.name, window: 32, latency: 0n * scale, cause: '' }),
    limits: () => [],
  };
}

/** Weights where every stream of the case has one, required rates otherwise. */
function wantedOf(c: Case, stream: Stream): Rational {
  const own = c.streams.every(({ weight }) => weight !== undefined);
  return own ? stream.weight!.value.expected : stream.required.value.expected;
}
