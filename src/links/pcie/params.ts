import type { Parameter } from '../fabric.ts';

/**
 * Parameters of a PCI Express link that a case may not know, with the direction of their effect on a
 * rate (property-tested). Default ranges are in `src/standards/defaults.ts`.
 */
export const pcieParams = [
  { id: 'skp_interval', title: 'SKP ordered set spacing', effect: 'raises' },
  { id: 'packets_per_ack', title: 'packets per Ack', effect: 'raises' },
  { id: 'packets_per_update', title: 'packets per UpdateFC', effect: 'raises' },
  { id: 'posted_header_credits', title: 'posted header credits', effect: 'raises' },
  { id: 'posted_data_credits', title: 'posted data credits', effect: 'raises' },
  { id: 'nonposted_header_credits', title: 'non-posted header credits', effect: 'raises' },
  { id: 'completion_header_credits', title: 'completion header credits', effect: 'raises' },
  { id: 'completion_data_credits', title: 'completion data credits', effect: 'raises' },
  { id: 'credit_return', title: 'credit return time', effect: 'lowers' },
  { id: 'completion_payload', title: 'completion payload', effect: 'depends' },
  { id: 'address_above_4_gib', title: 'buffer above 4 GiB', effect: 'lowers' },
  { id: 'ecrc', title: 'end-to-end CRC', effect: 'lowers' },
  { id: 'bit_error_ratio', title: 'bit error ratio', effect: 'lowers' },
  { id: 'replay_cost', title: 'time of a replay', effect: 'lowers' },
] as const satisfies readonly Parameter[];

export type PcieParameterId = (typeof pcieParams)[number]['id'];
