/** Default ranges of a PCI Express link: credits, acknowledgements, spacing, packets, errors. */
import { type DefaultContext, type DefaultRow, exact, type Range } from './default-row.ts';
import {
  ackLatencyLimit,
  creditsMost,
  generationRow,
  type PayloadSize,
  type PcieGeneration,
  skpRule,
} from './pcie-link.ts';
import { replaySymbolTimes } from './pcie-replay.ts';

/** Symbol times of a link as picoseconds, rounded up. */
function symbolTimes(count: number, generation: PcieGeneration): number {
  const { transfersPerSecond, family } = generationRow(generation);
  return Math.ceil((count * symbolBits[family] * 1_000_000_000_000) / transfersPerSecond);
}

/** Bits of a symbol on its lane, with its share of block bits. */
const symbolBits = { '8b10b': 10, '128b130b': 8.125, '1b1b': 8 } as const;

/**
 * UpdateFC latency guideline, picoseconds. No guideline is at hand for flits: that of 32 GT/s is taken,
 * and a flit for the update to ride in.
 */
export function updateGuideline(c: DefaultContext): number {
  const generation = c.generation === 6 ? 5 : c.generation;
  const guide = ackLatencyLimit(generation, c.width, c.maxPayload as PayloadSize);
  const flit = c.generation === 6 ? symbolTimes(256 / c.width, 6) : 0;
  return symbolTimes(guide, generation) + flit;
}

function most(c: DefaultContext): { readonly headers: number; readonly data: number } {
  return creditsMost[c.scaledFlowControl ? 'scaled' : 'unscaled'];
}

function headerRange(c: DefaultContext): Range {
  const { headers } = most(c);
  const upTo = (count: number) => Math.min(count, headers);
  return { low: upTo(4 * c.width), expected: upTo(12 * c.width), high: headers };
}

function dataRange(c: DefaultContext): Range {
  const { data } = most(c);
  const upTo = (count: number) => Math.min(Math.max(count, c.maxPayload / 16), data);
  return { low: upTo(20 * c.width), expected: upTo(60 * c.width), high: data };
}

/**
 * The one published credit table of a root complex that was found: 16/32/64 posted headers, 80/160/320
 * posted data and 18/36/72 non-posted headers at x4/x8/x16. It is the low end; three times it is
 * expected of later hosts (common practice, no source); the most an unscaled count holds is the high.
 */
const creditSource =
  'low: Intel datasheet 323103-001 (2010) vol. 1 p. 132; expected three times that, no source; ' +
  'high: PCI Express Base Specification 6.3 table 3-4';

export const pcieDefaultRows = {
  skp_interval: {
    title: 'SKP ordered set spacing',
    unit: 'symbol times, blocks or flits',
    range: (c) => {
      const { shortest, longest } = skpRule(c.generation, c.width, c.clocking);
      return { low: shortest, expected: Math.round((shortest + longest) / 2), high: longest };
    },
    basis: 'standard',
    reference:
      'PCI Express Base Specification 6.3 §4.2.8.4, shortest to longest; table 4-30 for flits; ' +
      'with spread spectrum on separate clocks only the longest is given',
    ask: 'count SKP ordered sets in a trace',
  },
  packets_per_ack: {
    title: 'packets per Ack',
    unit: 'count',
    range: (c) => {
      if (c.generation === 6) return exact(1);
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
    range: (c) => headerRange(c),
    basis: 'datasheet',
    reference: creditSource,
    ask: 'read the InitFC1-P values of the receiver in a trace, or its data sheet',
  },
  posted_data_credits: {
    title: 'posted data credits',
    unit: 'count',
    range: (c) => dataRange(c),
    basis: 'datasheet',
    reference: creditSource,
    ask: 'read the InitFC1-P values of the receiver in a trace, or its data sheet',
  },
  nonposted_header_credits: {
    title: 'non-posted header credits',
    unit: 'count',
    range: (c) => headerRange(c),
    basis: 'datasheet',
    reference: creditSource,
    ask: 'read the InitFC1-NP values of the receiver in a trace, or its data sheet',
  },
  completion_header_credits: {
    title: 'completion header credits',
    unit: 'count',
    range: (c) => headerRange(c),
    basis: 'practice',
    reference: 'common practice, no source: switches grant about what they grant of posted credits',
    ask: 'read the InitFC1-Cpl values of the receiver in a trace, or its data sheet',
  },
  completion_data_credits: {
    title: 'completion data credits',
    unit: 'count',
    range: (c) => dataRange(c),
    basis: 'practice',
    reference: 'common practice, no source: switches grant about what they grant of posted credits',
    ask: 'read the InitFC1-Cpl values of the receiver in a trace, or its data sheet',
  },
  credit_return: {
    title: 'credit return time',
    unit: 'ps',
    range: (c) => {
      const wait = updateGuideline(c);
      return { low: Math.ceil(wait / 2), expected: wait, high: 2 * wait };
    },
    basis: 'standard',
    reference:
      'PCI Express Base Specification 6.3 §2.6.1.2: half to twice the UpdateFC guideline; for flits ' +
      'that of 32 GT/s and one flit more (no source)',
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
  bit_error_ratio: {
    title: 'bit error ratio',
    unit: 'errors in 10^18 bits',
    range: () => exact(0),
    basis: 'practice',
    reference:
      'left out unless given: at 1e-12, the most the PCI Express Base Specification allows, replays ' +
      'take a few millionths of the time',
    ask: 'count Correctable Errors (Bad TLP, Bad DLLP) over a known time',
  },
  replay_cost: {
    title: 'time of a replay',
    unit: 'ps',
    range: (c) => {
      const { low, expected, high } = replaySymbolTimes(c);
      const time = (count: number) => symbolTimes(count, c.generation);
      return { low: time(low), expected: time(expected), high: time(high) };
    },
    basis: 'standard',
    reference:
      'PCI Express Base Specification 6.3 §3.6.2.1, §3.6.3.1: a Nak at once, within the Ack latency ' +
      'limit, or none until the replay timer runs out; for flits from memory',
    ask: 'time a replay in a trace with errors put in',
  },
} as const satisfies Readonly<Record<string, DefaultRow>>;
