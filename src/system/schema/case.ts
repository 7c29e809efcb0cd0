/** The keys of a case file, as written: parts still by id, rates not yet worked out. */

import type { FrontEnd, Settings, TransferShape } from '../case.ts';
import type { GivenQuantity } from '../given.ts';
import { fileJson } from './json.ts';
import { given, plain, textRule } from './leaf.ts';
import { completionBoundary, payloadSize } from './part.ts';
import { referencesJson } from './reference.ts';
import { choiceRule, generationRule, nameRule, quantityRule, widthRule } from './rules.ts';
import {
  checked,
  fallback,
  list,
  mapped,
  object,
  optional,
  required,
  type Shape,
} from './shape.ts';
import type { WrittenMeasurement, WrittenStream } from './stream.ts';
import { checkNames, type RatedStream, rateStream } from './stream.ts';

/** A case file apart from its part references, which are read one by one. */
export interface WrittenCase {
  readonly title: string;
  readonly question?: string;
  readonly revision?: string;
  readonly headroom?: GivenQuantity;
  readonly settings: Settings;
  readonly streams: readonly RatedStream[];
}

/** Most streams in a case. */
const STREAMS_MAX = 64;

const rate = given(quantityRule('data rate', 'a data rate', { above: '0 B/s' }));
const headroom = given(quantityRule('fraction', 'a headroom', { least: '0 %' }));
const oneSize = given(quantityRule('size', 'a size', { exact: true, whole: true, least: '1 B' }));

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
  size: required(oneSize, 'Bytes of one transfer.'),
  start_offset: optional(
    given(
      quantityRule('size', 'a start offset', {
        exact: true,
        whole: true,
        least: '0 B',
        below: '4 KiB',
      }),
    ),
    'First byte, from a 4 KiB boundary.',
  ),
  buffer: optional(
    given(choiceRule(['below 4 GiB', 'above 4 GiB'], 'a place of the buffer')),
    'Address of the buffer in host memory.',
  ),
});

const measurement: Shape<WrittenMeasurement> = object<WrittenMeasurement>({
  rate: required(rate, 'Rate measured.'),
  reference: required(plain(textRule('a reference')), 'Who measured it, when and how.'),
});

const writtenStream: Shape<WrittenStream> = object<WrittenStream>({
  name: required(plain(nameRule('a stream name')), 'Unique in the case.'),
  direction: required(given(choiceRule(['to host', 'from host'], 'a direction')), 'Of the data.'),
  rate: optional(rate, 'Burst rate; or give front_end.'),
  average: optional(rate, 'Long-time average; the burst rate when absent.'),
  front_end: optional(frontEnd, 'How the data is made; or give rate.'),
  transfer: optional(transfer, 'Transfers as the driver starts them.'),
  weight: optional(
    given(quantityRule('count', 'a weight', { exact: true, above: '0' })),
    'Share of a full link against other streams; by rate when absent.',
  ),
  headroom: optional(headroom, 'Headroom asked for this stream.'),
  measured: fallback(list(measurement, 64), () => [], 'What was measured.'),
});

const stream: Shape<RatedStream> = mapped(writtenStream, rateStream);

const settings: Shape<Settings> = object<Settings>({
  Max_Payload_Size: optional(payloadSize, 'As the system sets it.'),
  Max_Read_Request_Size: optional(payloadSize, 'As the system sets it.'),
  Read_Completion_Boundary: optional(completionBoundary, 'As the root complex works.'),
  generation: optional(given(generationRule), 'Generation the link runs at.'),
  width: optional(given(widthRule), 'Width the link runs at.'),
});

/** The case apart from its parts. */
export const caseShape: Shape<WrittenCase> = object<WrittenCase>(
  {
    title: required(plain(textRule('a title')), 'For people.'),
    question: optional(plain(textRule('a question')), 'What is to be decided.'),
    revision: optional(plain(textRule('a revision')), 'Of this case.'),
    headroom: optional(headroom, 'Headroom asked for every stream; 0 % when absent.'),
    settings: fallback(settings, () => ({}), 'Settings of the system software.'),
    streams: required(
      checked(list(stream, STREAMS_MAX), checkNames),
      'The data flows; [] asks about fit alone.',
    ),
  },
  { ...fileJson('case/1'), ...referencesJson },
);
