/** The keys of a stream and of neighbouring traffic. */
import type { FrontEnd, Neighbour, TransferShape } from '../case.ts';
import { CHANNELS_MAX } from './dma.ts';
import { given, plain, textRule } from './leaf.ts';
import { choiceRule, nameRule, quantityRule, wholeRule } from './rules.ts';
import { anySize, dataRate, oneSize } from './scalars.ts';
import { fallback, list, mapped, object, optional, required, type Shape } from './shape.ts';
import { stage } from './stage.ts';
import {
  type RatedStream,
  rateStream,
  type WrittenMeasurement,
  type WrittenStream,
} from './stream.ts';

/** Most measurements, and most stages, of a stream. */
const ITEMS_MAX = 64;

export const headroom = given(quantityRule('fraction', 'a headroom', { least: '0 %' }));
const direction = given(choiceRule(['to host', 'from host'], 'a direction'));
const switchId = given(nameRule('the id of a switch'));

const frontEnd: Shape<FrontEnd> = object<FrontEnd>({
  channels: required(
    given(quantityRule('count', 'a number of channels', { exact: true, whole: true, least: '1' })),
    'Channels sampled at once.',
  ),
  sample_rate: required(
    given(quantityRule('sample rate', 'a sample rate', { above: '0 S/s' })),
    'Samples per second of one channel.',
  ),
  container: required(oneSize, 'Room one sample takes, packing included.'),
  duty: optional(
    given(quantityRule('fraction', 'a duty', { above: '0 %', most: '100 %' })),
    'Share of the time in which samples flow.',
  ),
  block_header: optional(
    object<NonNullable<FrontEnd['block_header']>>({
      size: required(oneSize, 'Size of one header.'),
      every: required(oneSize, 'Bytes of samples behind each header.'),
    }),
    'A header before each block of samples.',
  ),
});

const transfer: Shape<TransferShape> = object<TransferShape>({
  size: required(anySize, 'Bytes of one transfer.'),
  start_offset: optional(
    given(quantityRule('size', 'a start offset', { whole: true, least: '0 B', below: '4 KiB' })),
    'First byte, from a 4 KiB boundary.',
  ),
  buffer: optional(
    given(choiceRule(['below 4 GiB', 'above 4 GiB'], 'a place of the buffer')),
    'Address of the buffer in host memory.',
  ),
});

const measurement: Shape<WrittenMeasurement> = object<WrittenMeasurement>({
  rate: optional(dataRate, 'Rate measured; or give time.'),
  time: optional(
    given(quantityRule('time', 'a time', { above: '0 s' })),
    'Time that one transfer of transfer.size took.',
  ),
  reference: required(plain(textRule('a reference')), 'Who measured it, when and how.'),
});

const writtenStream: Shape<WrittenStream> = object<WrittenStream>({
  name: required(plain(nameRule('a stream name')), 'Unique in the case.'),
  direction: required(direction, 'Of the data.'),
  rate: optional(dataRate, 'Burst rate; or give front_end.'),
  average: optional(dataRate, 'Long-time average; the burst rate when absent.'),
  front_end: optional(frontEnd, 'How the data is made; or give rate.'),
  transfer: optional(transfer, 'Transfers as the driver starts them.'),
  weight: optional(
    given(quantityRule('count', 'a weight', { exact: true, above: '0' })),
    'Share of a full link against other streams; by rate when absent from all.',
  ),
  headroom: optional(headroom, 'Headroom asked for this stream.'),
  measured: fallback(list(measurement, ITEMS_MAX), () => [], 'What was measured.'),
  moved_by: optional(
    given(
      choiceRule(
        ['module', 'processor, uncached', 'processor, write-combining'],
        'who moves the data',
      ),
    ),
    "Who moves the data; the module's engine when absent.",
  ),
  channel: optional(
    given(wholeRule('a channel', 0, CHANNELS_MAX - 1)),
    "Channel of the module's engine; 0 when absent.",
  ),
  virtual_channel: optional(
    given(wholeRule('a virtual channel', 0, 7)),
    'Virtual channel of its packets; 0 when absent.',
  ),
  peer_at: optional(switchId, 'Switch below which the other end is a device, not the host.'),
  stages: fallback(list(stage, ITEMS_MAX), () => [], 'What the data passes besides links.'),
});

/** A stream with its rates worked out. */
export const stream: Shape<RatedStream> = mapped(writtenStream, rateStream);

const writtenNeighbour: Shape<Omit<Neighbour, 'place'>> = object<Omit<Neighbour, 'place'>>({
  name: required(plain(nameRule('the name of a neighbour')), 'Unique among the neighbours.'),
  direction: required(direction, 'Of its data.'),
  rate: required(dataRate, 'What it moves.'),
  at: required(switchId, 'Switch of the way below which it sits.'),
});

/** Traffic of another device on the way. */
export const neighbour: Shape<Neighbour> = mapped(writtenNeighbour, (value, { place }) => ({
  ...value,
  place,
}));
