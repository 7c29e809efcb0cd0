/** Cases written as text for the tests of rating: two parts, a link between them, streams. */

import type { Case } from '../../src/system/case.ts';
import { libraryOf, readCase } from '../../src/system/read/index.ts';

export interface CaseText {
  readonly module?: string;
  readonly dma?: string;
  readonly host?: string;
  readonly switch?: string;
  readonly settings?: string;
  readonly streams: readonly string[];
  readonly headroom?: string;
  /** Further lines of the host part. */
  readonly hostMore?: string;
  readonly switchMore?: string;
  readonly neighbours?: readonly string[];
}

/** A link of 2.5 GT/s x4 with everything that could widen a result given exactly. */
const exactLink =
  'packets_per_ack: 4, packets_per_update: 4, credit_return: 200 ns, skp_interval: 1538, ' +
  'posted_header_credits: 64, posted_data_credits: 1024, nonposted_header_credits: 64, ' +
  'completion_payload: 128 B, read_latency: 500 ns, ecrc: false';

export const exactHost = `generation: 1, width: x4, role: root complex, Max_Payload_Size: 256 B, ${exactLink}`;
export const exactModule = `generation: 1, width: x4, role: endpoint, Max_Payload_Size: 256 B, packets_per_ack: 4`;
export const exactDma =
  'gap_per_packet: 64 ns, setup_per_transfer: 0 ns, outstanding_requests: 16, ' +
  'request_size: 512 B, transfers_per_interrupt: 0';
export const write = (name: string, rate: string, size = '1 MiB') =>
  `{name: ${name}, direction: to host, rate: ${rate}, ` +
  `transfer: {size: ${size}, start_offset: 0 B, buffer: below 4 GiB}}`;
export const read = (name: string, rate: string, size = '1 MiB') =>
  `{name: ${name}, direction: from host, rate: ${rate}, ` +
  `transfer: {size: ${size}, start_offset: 0 B, buffer: below 4 GiB}}`;

export function caseOf(text: CaseText): Case {
  const parts = [
    `lanewright: part/1
kind: module
id: m
title: module
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors: {P15: {family: VITA 42, carries: PCI Express, lanes: 4}}
pcie: {${text.module ?? exactModule}}
dma: {${text.dma ?? exactDma}}
supplies: {}
`,
    `lanewright: part/1
kind: host
id: h
title: host
pcie: {${text.host ?? exactHost}}
${text.hostMore ?? ''}
`,
  ];
  if (text.switch) {
    parts.push(`lanewright: part/1
kind: switch
id: s
title: switch
latency: 100 ns
pcie: {${text.switch}}
${text.switchMore ?? ''}
`);
  }
  const { library, problems } = libraryOf(
    parts.map((t, i) => ({ file: `part-${i}.yaml`, text: t })),
  );
  if (problems.length > 0) throw new Error(JSON.stringify(problems));
  const source = `lanewright: case/1
title: test
headroom: ${text.headroom ?? '0 %'}
module: {part: m}
host: {part: h}
${text.switch ? 'switches: [s]' : ''}
settings: {${text.settings ?? 'Max_Payload_Size: 128 B'}}
streams: [${text.streams.join(', ')}]
${text.neighbours ? `neighbours: [${text.neighbours.join(', ')}]` : ''}
`;
  const found = readCase({ file: 'case.yaml', text: source }, library);
  if (!found.ok) throw new Error(JSON.stringify(found.problems, null, 1));
  return found.value;
}
