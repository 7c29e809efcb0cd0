/** Single changes that could help a case: none rated yet, cheapest first. */
import { bytes, exactQuantity, formatSize, rational, toNumber } from '../quantity/index.ts';
import { generationRow, payloadSizes } from '../standards/pcie-link.ts';
import type { Case } from '../system/case.ts';
import type { DmaEngine } from '../system/dma.ts';
import type { GivenQuantity } from '../system/given.ts';
import type { Change } from '../system/hop.ts';
import type { Network } from '../system/network.ts';
import { payloadLimit } from '../system/nodes.ts';

/** A change not yet rated: in words, as a change of the network, or of the case itself. */
export interface Candidate {
  readonly words: string;
  readonly change: Change;
  readonly changed?: Case;
}

/**
 * Single changes that could help a case, cheapest first: who moves the data; a payload size that both
 * ends of the path take; larger and more reads; the width and speed of one hop; an engine without
 * pauses; a payload that needs other parts.
 *
 * @param hop the hop whose width and speed are looked at, module side first
 */
export function possibleChanges(c: Case, network: Network, hop = 0): Candidate[] {
  if (!c.module.pcie) return [];
  const { bytes: payload, owner } = payloadLimit(c);
  const ends = Math.min(
    ...[c.module.pcie, c.host?.pcie].flatMap((p) => (p ? [bytes(p.Max_Payload_Size.value)] : [])),
  );
  const larger = payloadSizes
    .filter((size) => size > payload && size <= 4 * payload)
    .map((size) => ({
      words: `Max_Payload_Size ${size} B instead of ${payload} B (${owner} sets the limit)`,
      change: { maxPayload: size },
      taken: size <= ends,
    }));
  const of = (taken: boolean) => larger.filter((l) => l.taken === taken);
  return [
    ...byEngine(c),
    ...of(true),
    ...ofReads(c),
    ...ofHop(network, hop),
    ...withoutPause(c),
    ...of(false),
  ];
}

/** The module's engine instead of a processor, where there is one. */
function byEngine(c: Case): Candidate[] {
  const slow = c.streams.some((s) => (s.moved_by?.value ?? 'module') !== 'module');
  if (!slow || !c.module.dma) return [];
  const streams = c.streams.map(({ moved_by: _, ...stream }) => stream);
  const words = `the engine of ${c.module.id} moves the data instead of the processor`;
  return [{ words, change: {}, changed: { ...c, streams } }];
}

/** Larger read requests as far as a setting holds them down, and more of them in flight. */
function ofReads(c: Case): Candidate[] {
  const { dma, pcie } = c.module;
  const reads = c.streams.some(
    (s) => s.direction.value === 'from host' && (s.moved_by?.value ?? 'module') === 'module',
  );
  if (!reads || !dma) return [];
  const set = c.settings.Max_Read_Request_Size;
  const most = dma.request_size ? bytes(dma.request_size.value) : 4096;
  const larger = set
    ? payloadSizes
        .filter((size) => size > bytes(set.value) && size <= most)
        .map((size) => ({
          words: `Max_Read_Request_Size ${formatSize(size)} instead of ${formatSize(bytes(set.value))}`,
          change: {},
          changed: {
            ...c,
            settings: { ...c.settings, Max_Read_Request_Size: sized(set, size) },
          },
        }))
    : [];
  const now = dma.outstanding_requests;
  if (!now) return larger;
  const count = toNumber(now.value.expected);
  const tags = pcie?.tags?.value ?? 256;
  const more = [2 * count, 4 * count]
    .filter((n) => n <= tags)
    .map((n) =>
      withEngine(c, `${n} read requests in flight instead of ${count}`, {
        outstanding_requests: counted(now, n),
      }),
    );
  return [...larger, ...more];
}

/** The module's engine without its pause after each packet. */
function withoutPause(c: Case): Candidate[] {
  const gap = c.module.dma?.gap_per_packet;
  if (!gap || gap.value.high.n === 0n) return [];
  const words = `the engine of ${c.module.id} without its pause after each packet`;
  const none = { ...gap, value: exactQuantity('time', rational(0)) };
  return [withEngine(c, words, { gap_per_packet: none })];
}

function withEngine(c: Case, words: string, engine: Partial<DmaEngine>): Candidate {
  const module = { ...c.module, dma: { ...c.module.dma, ...engine } };
  return { words, change: {}, changed: { ...c, module } };
}

function sized(given: GivenQuantity, size: number): GivenQuantity {
  return { ...given, value: exactQuantity('size', rational(size * 8)) };
}

function counted(given: GivenQuantity, count: number): GivenQuantity {
  return { ...given, value: exactQuantity('count', rational(count)) };
}

function ofHop(network: Network, hop: number): Candidate[] {
  const { name, configure } = network.hops[hop]!;
  const { generation, width } = configure(network.parameters.expected()) as {
    generation: number;
    width: number;
  };
  const wider = [2 * width, 4 * width]
    .filter((w) => w <= 16)
    .map((w) => ({ words: `${name}: x${w} instead of x${width}`, change: { hop, width: w } }));
  const faster = [generation + 1, generation + 2]
    .filter((g) => g <= 5)
    .map((g) => ({
      words: `${name}: ${speed(g)} instead of ${speed(generation)}`,
      change: { hop, generation: g },
    }));
  return [...wider, ...faster];
}

function speed(generation: number): string {
  const { transfersPerSecond } = generationRow(generation as 1);
  return `${transfersPerSecond / 1e9} GT/s`;
}
