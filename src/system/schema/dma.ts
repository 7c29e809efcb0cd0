/** The keys of a DMA engine. */
import type { DataPath, Descriptors, DmaEngine } from '../dma.ts';
import { checkDma } from './check-dma.ts';
import { given } from './leaf.ts';
import { quantityRule, wholeRule } from './rules.ts';
import { anySize, clockRate, flag, oneSize, pause, some, someOrNone } from './scalars.ts';
import { checked, object, optional, required, type Shape } from './shape.ts';

/** Most channels of an engine. */
export const CHANNELS_MAX = 256;

const dataPath: Shape<DataPath> = object<DataPath>({
  width: required(oneSize, 'Bytes of a step.'),
  clock: required(clockRate, 'Steps per second.'),
  steps_per_transfer: optional(someOrNone, 'Steps of each transfer besides those of its data.'),
  time_per_transfer: optional(pause, 'Time each transfer holds the path besides its steps.'),
  transfer_interval: optional(pause, "Least time between two starts this way; else the engine's."),
});

const descriptors: Shape<Descriptors> = object<Descriptors>({
  size: required(oneSize, 'Bytes of one descriptor.'),
  covers: required(oneSize, 'Most data bytes one descriptor stands for, such as a page.'),
  fetch_batch: optional(some, 'Descriptors fetched with one read.'),
  write_back: optional(oneSize, 'Bytes written back for each descriptor; none when absent.'),
  write_back_batch: optional(some, 'Descriptors written back with one write.'),
  gap: optional(pause, 'Time between two descriptors in which nothing flows.'),
  prefetched: optional(flag, 'Whether they are fetched ahead, while data flows.'),
});

const engine: Shape<DmaEngine> = object<DmaEngine>({
  outstanding_requests: optional(some, 'Read requests in flight at most.'),
  request_size: optional(
    given(
      quantityRule('size', 'a request size', {
        exact: true,
        whole: true,
        least: '1 B',
        most: '4 KiB',
      }),
    ),
    'Largest read request it makes.',
  ),
  completion_buffer: optional(anySize, 'Room for completions of the reads in flight.'),
  reads_in_order: optional(flag, 'Whether a late answer keeps all reads behind it outstanding.'),
  gap_per_packet: optional(pause, 'Pause after each packet it sends.'),
  chunk: optional(
    given(quantityRule('size', 'a chunk', { exact: true, whole: true, least: '1 B' })),
    'Bytes handled at once; no packet straddles two.',
  ),
  gap_per_chunk: optional(pause, 'Pause after each chunk.'),
  setup_per_transfer: optional(pause, 'Time per transfer in which nothing flows.'),
  transfer_interval: optional(pause, 'Least time between the starts of two transfers.'),
  transfers_per_interrupt: optional(someOrNone, 'Transfers per interrupt; 0 for none.'),
  interrupt_interval: optional(pause, 'Least time between two interrupts.'),
  channels: optional(
    given(wholeRule('a number of channels', 1, CHANNELS_MAX)),
    'Engines that work side by side.',
  ),
  write_path: optional(dataPath, 'Its own data path towards the link.'),
  read_path: optional(dataPath, 'Its own data path from the link.'),
  descriptors: optional(descriptors, 'Ring or list of descriptors in host memory.'),
});

/** A DMA engine, looked over for contradictions. */
export const dma: Shape<DmaEngine> = checked(engine, checkDma);
