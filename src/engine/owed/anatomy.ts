/** How one full packet of a stream is built on the module's link: bytes of every layer, by the layouts. */
import { byteLength, type Field } from '../../links/pcie/fields.ts';
import { flitHeader } from '../../links/pcie/flit.ts';
import { tlpFraming } from '../../links/pcie/framing.ts';
import type { PcieConfig } from '../../links/pcie/index.ts';
import {
  digestLayout,
  type HeaderDw,
  headerDwOf,
  headerLayout,
  prefixLayout,
} from '../../links/pcie/tlp.ts';
import type { Answer } from '../../model/answer.ts';
import type { PacketAnatomy, PacketPart } from '../../model/owed.ts';
import { generationRow } from '../../standards/pcie-link.ts';
import { buildNetwork } from '../../system/build.ts';
import type { Case } from '../../system/case.ts';
import { canRate } from '../../system/nodes.ts';

/** One packet of a write and one of a read, as far as streams of the case have such. */
export function anatomies(c: Case, answer: Answer): PacketAnatomy[] {
  if (answer.rate === undefined || !canRate(c)) return [];
  const { network } = buildNetwork(c);
  const [hop] = network.hops;
  if (hop?.fabric.id !== 'pcie') return [];
  const corner = network.parameters.expected();
  const config = hop.configure(corner) as PcieConfig;
  const link = answer.rate.links.find((l) => l.hop === hop.name)?.link ?? '';
  return (['write', 'read'] as const).flatMap((kind): PacketAnatomy[] => {
    const stream = network.streams
      .slice(0, c.streams.length)
      .map((s) => s.flow(corner))
      .find((flow) => flow.kind === kind);
    if (stream === undefined) return [];
    const most = kind === 'write' ? config.maxPayload : config.completionPayload;
    const payload = Math.min(most, stream.transferBytes, stream.writeBytes ?? most);
    const packet = kind === 'write' ? 'MWr' : 'CplD';
    const asked: HeaderDw = stream.wideAddress ? 4 : 3;
    const parts = partsOf(packet, asked, config, stream.prefixes ?? 0, payload);
    const bytes = parts.reduce((sum, part) => sum + part.bytes, 0);
    return [
      {
        stream: stream.stream,
        packet: kind === 'write' ? 'memory write' : 'completion with data',
        hop: hop.name,
        link,
        parts,
        bytes,
        payload,
        wireSeconds: (bytes * 8) / hop.bitsPerSecond,
      },
    ];
  });
}

function partsOf(
  packet: 'MWr' | 'CplD',
  asked: HeaderDw,
  { generation, ecrc }: PcieConfig,
  prefixes: number,
  payload: number,
): PacketPart[] {
  const { family } = generationRow(generation);
  const dw = headerDwOf(packet, asked);
  const part = (name: string, fields: readonly Field[]): PacketPart[] => {
    const [first] = fields;
    if (first === undefined) return [];
    return [{ name, bytes: byteLength(fields), account: first.account, clause: first.clause }];
  };
  const data = { name: 'payload', bytes: payload, account: 'payload', clause: '2.2.2' } as const;
  const digest = ecrc ? part('end-to-end CRC', digestLayout(packet)) : [];
  const prefix = part('prefixes', prefixLayout(packet, prefixes));
  if (family === '1b1b') {
    return [
      ...prefix,
      ...part(`header, ${dw} DW`, flitHeader(packet, asked, false)),
      data,
      ...digest,
    ];
  }
  const { before, after } = tlpFraming(family, 'framing');
  const [start, end] =
    family === '8b10b'
      ? ['STP and sequence number', 'link CRC and END']
      : ['STP token with sequence number', 'link CRC'];
  return [
    ...part(start, before),
    ...prefix,
    ...part(`header, ${dw} DW`, headerLayout(packet, asked)),
    data,
    ...digest,
    ...part(end, after),
  ];
}
