/**
 * The one table of default ranges: what is assumed where neither the case nor a part says. Each row
 * has its unit, its range, what the range rests on, and what to ask for or measure to replace it.
 */
import type { Basis } from '../model/basis.ts';
import {
  ackLatencyLimit,
  generationRow,
  type PayloadSize,
  type PcieGeneration,
  type PcieWidth,
  skpSpacing,
} from './pcie-link.ts';

/** What a default may depend on. */
export interface DefaultContext {
  readonly generation: PcieGeneration;
  readonly width: PcieWidth;
  /** Max_Payload_Size of the path, bytes. */
  readonly maxPayload: number;
  /** Read Completion Boundary, bytes. */
  readonly readCompletionBoundary: number;
}

export interface Range {
  readonly low: number;
  readonly expected: number;
  readonly high: number;
}

export interface DefaultRow {
  readonly title: string;
  /** Unit of the range; times are in picoseconds, whole. */
  readonly unit: 'ps' | 'bytes' | 'count' | 'per second' | 'symbol times or blocks' | '0 or 1';
  readonly range: (c: DefaultContext) => Range;
  readonly basis: Basis;
  readonly reference: string;
  /** The question whose answer replaces the default. */
  readonly ask: string;
}

const exact = (value: number): Range => ({ low: value, expected: value, high: value });

/** Symbol times of a link as picoseconds, rounded up. */
function symbolTimes(count: number, c: DefaultContext): number {
  const { transfersPerSecond, family } = generationRow(c.generation);
  const bits = family === '8b10b' ? 10 : 8.125;
  return Math.ceil((count * bits * 1_000_000_000_000) / transfersPerSecond);
}

/**
 * The one published credit table of a root complex that was found: 16/32/64 posted headers, 80/160/320
 * posted data and 18/36/72 non-posted headers at x4/x8/x16. It is the low end; three times it is
 * expected of later hosts (common practice, no source); the most an unscaled count holds is the high.
 */
const creditSource =
  'low: Intel datasheet 323103-001 (2010) vol. 1 p. 132; expected three times that, no source; ' +
  'high: PCI Express Base Specification 6.3 table 3-4';

export const defaultRows = {
  skp_interval: {
    title: 'SKP ordered set spacing',
    unit: 'symbol times or blocks',
    range: (c) => {
      const { shortest, longest } = skpSpacing[generationRow(c.generation).family];
      return { low: shortest, expected: Math.round((shortest + longest) / 2), high: longest };
    },
    basis: 'standard',
    reference: 'PCI Express Base Specification 6.3 §4.2.8.4, shortest to longest',
    ask: 'count SKP ordered sets in a trace',
  },
  packets_per_ack: {
    title: 'packets per Ack',
    unit: 'count',
    range: (c) => {
      const payload = c.maxPayload as PayloadSize;
      const limit = ackLatencyLimit(c.generation, c.width, payload);
      // Packets of full payload in the limit, and in the twice of it that its tolerance allows.
      const within = (times: number) =>
        1 + Math.floor((times * limit * c.width) / (c.maxPayload + 20));
      return { low: 1, expected: within(1), high: within(2) };
    },
    basis: 'standard',
    reference: 'PCI Express Base Specification 6.3 §3.6.3.1: one each, to twice the latency limit',
    ask: 'count Acks against packets in a trace',
  },
  packets_per_update: {
    title: 'packets per UpdateFC',
    unit: 'count',
    range: () => ({ low: 1, expected: 4, high: 8 }),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: 'count UpdateFC against packets in a trace',
  },
  posted_header_credits: {
    title: 'posted header credits',
    unit: 'count',
    range: (c) => ({
      low: Math.min(4 * c.width, 127),
      expected: Math.min(12 * c.width, 127),
      high: 127,
    }),
    basis: 'datasheet',
    reference: creditSource,
    ask: 'read the InitFC1-P values of the receiver in a trace, or its data sheet',
  },
  posted_data_credits: {
    title: 'posted data credits',
    unit: 'count',
    range: (c) => ({
      low: Math.min(Math.max(20 * c.width, c.maxPayload / 16), 2047),
      expected: Math.min(Math.max(60 * c.width, c.maxPayload / 16), 2047),
      high: 2047,
    }),
    basis: 'datasheet',
    reference: creditSource,
    ask: 'read the InitFC1-P values of the receiver in a trace, or its data sheet',
  },
  nonposted_header_credits: {
    title: 'non-posted header credits',
    unit: 'count',
    range: (c) => ({
      low: Math.min(4 * c.width, 127),
      expected: Math.min(12 * c.width, 127),
      high: 127,
    }),
    basis: 'datasheet',
    reference: creditSource,
    ask: 'read the InitFC1-NP values of the receiver in a trace, or its data sheet',
  },
  credit_return: {
    title: 'credit return time',
    unit: 'ps',
    range: (c) => {
      const guide = ackLatencyLimit(c.generation, c.width, c.maxPayload as PayloadSize);
      const wait = symbolTimes(guide, c);
      return { low: Math.ceil(wait / 2), expected: wait, high: 2 * wait };
    },
    basis: 'standard',
    reference: 'PCI Express Base Specification 6.3 §2.6.1.2: half to twice the UpdateFC guideline',
    ask: 'time UpdateFC after the packet it answers in a trace',
  },
  completion_payload: {
    title: 'completion payload',
    unit: 'bytes',
    range: (c) => ({
      low: c.readCompletionBoundary,
      expected: c.maxPayload,
      high: c.maxPayload,
    }),
    basis: 'standard',
    reference:
      'PCI Express Base Specification 6.3 §2.3.1.1: Read Completion Boundary to Max_Payload_Size',
    ask: 'look at the completions of one aligned read in a trace',
  },
  address_above_4_gib: {
    title: 'buffer above 4 GiB',
    unit: '0 or 1',
    range: () => ({ low: 0, expected: 1, high: 1 }),
    basis: 'practice',
    reference: 'common practice, no source: 64-bit hosts place buffers anywhere',
    ask: 'print the bus address the driver gives the engine',
  },
  ecrc: {
    title: 'end-to-end CRC',
    unit: '0 or 1',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source: off unless firmware turns it on',
    ask: 'read ECRC Generation Enable in Advanced Error Capabilities and Control',
  },
  read_latency: {
    title: 'read latency of the root complex',
    unit: 'ps',
    range: () => ({ low: 350_000, expected: 500_000, high: 1_000_000 }),
    basis: 'measured',
    reference:
      'open data set with Neugebauer et al., SIGCOMM 2018: 64 B read medians 413 to 600 ns on three' +
      ' hosts, +107 ns remote socket; Rota et al., JINST 11 (2016) P02007: about 1 us',
    ask: 'time a single small read of host memory by the module',
  },
  switch_latency: {
    title: 'time through a switch',
    unit: 'ps',
    range: () => ({ low: 100_000, expected: 150_000, high: 300_000 }),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: "the switch's data sheet, port-to-port latency",
  },
  outstanding_requests: {
    title: 'outstanding read requests',
    unit: 'count',
    range: () => ({ low: 8, expected: 16, high: 32 }),
    basis: 'practice',
    reference: 'Intel AN 690 §1.7.2 uses 16; 32 is all that 5-bit tags allow',
    ask: "the engine's data sheet, or Extended Tag Field Enable in Device Control",
  },
  request_size: {
    title: 'read request size',
    unit: 'bytes',
    range: () => exact(512),
    basis: 'standard',
    reference: 'Device Control resets Max_Read_Request_Size to 512 B',
    ask: 'read Max_Read_Request_Size in Device Control',
  },
  gap_per_packet: {
    title: 'pause after each packet',
    unit: 'ps',
    range: () => ({ low: 0, expected: 4_000, high: 16_000 }),
    basis: 'measured',
    reference:
      'implied by published write rates beyond wire time: about 1 ns (Intel AN 690 §1.6.5), 2 ns ' +
      '(open data set with Neugebauer et al., SIGCOMM 2018), 4 to 11 ns (Microchip PolarFire PCI ' +
      'Express user guide §3.5)',
    ask: 'time back-to-back packets at the engine, or one long transfer at two payload sizes',
  },
  gap_per_chunk: {
    title: 'pause after each chunk',
    unit: 'ps',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source: engines without an internal buffer step have none',
    ask: "the engine's data sheet, or packet times around a multiple of its buffer size",
  },
  setup_per_transfer: {
    title: 'set-up per transfer',
    unit: 'ps',
    range: () => ({ low: 0, expected: 500_000, high: 2_000_000 }),
    basis: 'practice',
    reference: 'common practice, no source: chained descriptors to one register round trip',
    ask: 'time one transfer at two sizes; the intercept is the set-up',
  },
  transfers_per_interrupt: {
    title: 'transfers per interrupt',
    unit: 'count',
    range: () => exact(1),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: "the driver's completion setting",
  },
  transfer_size: {
    title: 'transfer size',
    unit: 'bytes',
    range: () => ({ low: 65_536, expected: 1_048_576, high: 1_048_576 }),
    basis: 'practice',
    reference: 'common practice, no source: 64 KiB to 1 MiB blocks for streaming',
    ask: 'the transfer size that the driver programs',
  },
  start_offset: {
    title: 'buffer start offset',
    unit: 'bytes',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source: streaming buffers are page aligned',
    ask: 'print the bus address the driver gives the engine',
  },
  transfer_interval: {
    title: 'least time between transfer starts',
    unit: 'ps',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source: engines for long blocks are not limited by it',
    ask: 'count small transfers a second at the engine',
  },
  interrupt_interval: {
    title: 'least time between interrupts',
    unit: 'ps',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source: moderation is off unless the driver sets it',
    ask: "the driver's moderation setting",
  },
  descriptor_gap: {
    title: 'pause between descriptors',
    unit: 'ps',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source: chained descriptors are read ahead',
    ask: 'packet times around the end of a descriptor',
  },
  path_clock: {
    title: 'steps a second of the engine path',
    unit: 'per second',
    range: () => exact(250_000_000),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: 'the user clock of the FPGA build',
  },
  path_steps: {
    title: 'steps each transfer takes besides its data',
    unit: 'count',
    range: () => exact(0),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: 'transfers of one and of many steps, timed',
  },
  stage_rate: {
    title: 'rate of the stage',
    unit: 'per second',
    range: () => exact(1),
    basis: 'assumed',
    reference: 'always given',
    ask: 'time the stage alone',
  },
  remote_latency: {
    title: 'added latency of the other socket',
    unit: 'ps',
    range: () => ({ low: 105_000, expected: 106_000, high: 107_000 }),
    basis: 'measured',
    reference: 'open data set with Neugebauer et al., SIGCOMM 2018: +105 to +107 ns',
    ask: 'time one small read with the buffer on either socket',
  },
  cached_pages: {
    title: 'pages the address translation caches',
    unit: 'count',
    range: () => ({ low: 32, expected: 64, high: 128 }),
    basis: 'memory',
    reference: 'Neugebauer et al., SIGCOMM 2018: 64 (from memory)',
    ask: 'rate against working set: the step lies at cached pages times the page size',
  },
  translation_page: {
    title: 'page of the address translation',
    unit: 'bytes',
    range: () => exact(4096),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: 'whether the driver maps the buffer with large pages',
  },
  translation_miss: {
    title: 'time of a translation miss',
    unit: 'ps',
    range: () => ({ low: 200_000, expected: 330_000, high: 500_000 }),
    basis: 'memory',
    reference: 'Neugebauer et al., SIGCOMM 2018: about 330 ns (from memory)',
    ask: 'time single reads within and beyond the cached pages',
  },
  misses_at_once: {
    title: 'translation misses served at once',
    unit: 'count',
    range: () => ({ low: 2, expected: 6, high: 8 }),
    basis: 'memory',
    reference:
      'such that 64 B reads lose about 70 % beyond the cached pages (Neugebauer et al., from memory)',
    ask: 'rate of small reads far beyond the cached pages',
  },
  cut_through: {
    title: 'switch forwards before a packet has arrived whole',
    unit: '0 or 1',
    range: () => ({ low: 0, expected: 1, high: 1 }),
    basis: 'practice',
    reference: 'common practice, no source: most switches do, at like speeds',
    ask: "the switch's data sheet, forwarding mode",
  },
  idle_before_low_power: {
    title: 'idle time before a low-power state',
    unit: 'ps',
    range: () => ({ low: 1_000_000, expected: 7_000_000, high: 7_000_000 }),
    basis: 'memory',
    reference: 'PCI Express Base Specification: L0s after at most 7 us of idle (from memory)',
    ask: "the port's entry timer, or a trace around an idle link",
  },
  L0s_exit: {
    title: 'time to leave L0s',
    unit: 'ps',
    range: () => ({ low: 64_000, expected: 512_000, high: 4_000_000 }),
    basis: 'standard',
    reference: 'PCI Express Base Specification, Link Capabilities, L0s Exit Latency codes',
    ask: 'read L0s Exit Latency in Link Capabilities at both ends',
  },
  L1_exit: {
    title: 'time to leave L1',
    unit: 'ps',
    range: () => ({ low: 1_000_000, expected: 8_000_000, high: 64_000_000 }),
    basis: 'standard',
    reference: 'PCI Express Base Specification, Link Capabilities, L1 Exit Latency codes',
    ask: 'read L1 Exit Latency in Link Capabilities at both ends',
  },
  uncached_size: {
    title: 'bytes of one uncached load or store',
    unit: 'bytes',
    range: () => ({ low: 4, expected: 8, high: 8 }),
    basis: 'practice',
    reference: 'common practice, no source: a register access of 4 or 8 bytes',
    ask: 'how the driver declares its accesses',
  },
  combined_size: {
    title: 'bytes of a write-combining buffer',
    unit: 'bytes',
    range: () => exact(64),
    basis: 'practice',
    reference: 'common practice, no source: one cache line',
    ask: "the processor's manual, write-combining buffers",
  },
  outstanding_loads: {
    title: 'uncached loads in flight',
    unit: 'count',
    range: () => exact(1),
    basis: 'practice',
    reference: 'common practice, no source: a processor waits for each uncached load',
    ask: 'time a run of loads against one',
  },
  store_interval: {
    title: 'time between stores of the processor',
    unit: 'ps',
    range: () => ({ low: 2_000, expected: 10_000, high: 100_000 }),
    basis: 'practice',
    reference: 'common practice, no source',
    ask: 'time a long run of stores',
  },
} as const satisfies Readonly<Record<string, DefaultRow>>;

export type DefaultId = keyof typeof defaultRows;
