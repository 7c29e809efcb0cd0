/** Cases on a parallel bus, made of text as a user would write them. */
import { answerCase, libraryOf, readCase } from '../../src/engine/index.ts';
import type { Answer } from '../../src/model/answer.ts';
import { type BusPlan, busCase, busPlan } from '../../src/system/bus/index.ts';

/** What a test says of a case; text goes into the files as it is. */
export interface BusWords {
  readonly card?: string;
  readonly segment?: string;
  readonly streams?: string;
  readonly p13?: boolean;
  /** Body of the bridge's PCI side; with it a bridge stands between segment and host. */
  readonly bridge?: string;
  readonly host?: string;
  readonly dma?: string;
}

const connectors = (p13: boolean, carries: string) =>
  ['P11', 'P12', ...(p13 ? ['P13'] : [])]
    .map((p) => `      ${p}: { family: CMC, carries: ${carries} }`)
    .join('\n');

function module({ card, p13 = true, dma }: BusWords): string {
  return `lanewright: part/1
kind: module
id: card
title: card
basis: assumed
form: PMC
outline: single
cooling: air
stacking_height: 10 mm
connectors:
${connectors(p13, 'PCI-X')}
pci: { ${card ?? 'mode: PCI-X 133, width: 64, burst: 512 B, request_after: 1'} }
${dma === undefined ? '' : `dma: { ${dma} }\n`}`;
}

function carrier({ segment, bridge }: BusWords): string {
  const target = 'decode: A, write_latency: 0, reads: immediate, read_latency: 0';
  const whole =
    segment ??
    `limit: PCI-X 133, width: 64, early_end: 0${bridge ? '' : `, target: { ${target} }`}`;
  return `lanewright: part/1
kind: carrier
id: board
title: board
board: any
basis: assumed
sites:
  A:
    outline: single
    cooling: air
    stacking_height: 10 mm
    connectors:
${connectors(true, 'PCI-X')}
    pci: { ${whole} }
${bridge === undefined ? '' : '    through: [between]\n'}`;
}

function bridgePart(body: string): string {
  return `lanewright: part/1
kind: switch
id: between
title: between
basis: assumed
pcie: { generation: 1, width: x4, role: endpoint, Max_Payload_Size: 256 B }
bridge: { ${body} }
`;
}

const hostPart = (latency: string) => `lanewright: part/1
kind: host
id: computer
title: computer
basis: assumed
pcie:
  generation: 1
  width: x4
  role: root complex
  Max_Payload_Size: 256 B
  read_latency: ${latency}
`;

const oneStream =
  '- { name: data, direction: to host, rate: 100 MB/s, transfer: { size: 64 KiB } }';

function files(words: BusWords) {
  const source = {
    file: 'case.yaml',
    text: `lanewright: case/1
title: bus
module: card
carrier: board
${words.bridge === undefined ? '' : 'host: computer\n'}streams:
  ${words.streams ?? oneStream}
`,
  };
  const texts = [
    module(words),
    carrier(words),
    ...(words.bridge === undefined
      ? []
      : [bridgePart(words.bridge), hostPart(words.host ?? '500 ns')]),
  ];
  const { library } = libraryOf(texts.map((text, i) => ({ file: `parts/${i}.yaml`, text })));
  return { source, library };
}

/** The answer of a case; every problem as an error. */
export function busAnswer(words: BusWords): Answer {
  const { source, library } = files(words);
  const answer = answerCase(source, library, { fit: true, rate: true });
  if (!answer.ok) throw new Error(JSON.stringify(answer.problems, null, 1));
  return answer.value;
}

/** The plan of a case. */
export function planOf(words: BusWords): BusPlan {
  const { source, library } = files(words);
  const read = readCase(source, library);
  if (!read.ok) throw new Error(JSON.stringify(read.problems, null, 1));
  return busPlan(busCase(read.value)!);
}
