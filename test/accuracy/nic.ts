/**
 * The network card of the open data set as a device with parameters of its own: what they are, how a
 * case states them, and the rate of the model with them at each published size.
 */
import { toNumber } from '../../src/quantity/index.ts';
import { buildNetwork } from '../../src/system/build.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import type { Network } from '../../src/system/network.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { readCase } from '../../src/system/read/index.ts';
import { measuredFolder } from './folders.ts';
import { type Row, rowsOf } from './rows.ts';

export type Kind = 'write' | 'read';
export type Host = 1 | 2 | 3;
export const hosts: readonly Host[] = [1, 2, 3];

/**
 * Time from a read request to its completion, ns: the set's medians of 64 B reads of the command kind
 * (440, 440 and 520 ns) less 14 ns, which request (24 B) and completion (84 B) are on the wire. An
 * input: no rate had a part in it.
 */
export const readLatency: Readonly<Record<Host, number>> = { 1: 426, 2: 426, 3: 506 };

/** One published point; the rate in bytes per second. */
export interface NicPoint {
  readonly kind: Kind;
  readonly host: Host;
  readonly bytes: number;
  readonly measured: number;
  readonly row: Row;
}

/** The 90 points of reads and writes, in the order of the files. */
export function nicPoints(): NicPoint[] {
  return rowsOf(measuredFolder, 'server-nic').map((row) => {
    const read = readCase(row.source, row.library);
    if (!read.ok) throw new Error(`${row.source.file}: ${JSON.stringify(read.problems[0])}`);
    const { title, streams } = read.value;
    const [, host, bytes, kind] = /^host (\d) (\d+) B (write|read)$/.exec(title) ?? [];
    return {
      kind: kind as Kind,
      host: Number(host) as Host,
      bytes: Number(bytes),
      measured: toNumber(streams[0]!.measured[0]!.rate.value.expected) / 8,
      row,
    };
  });
}

/** Parameters of the device: values by their key below `dma`, `path` for the direction's own path. */
export type Device = Readonly<Partial<Record<TermId, number>>>;

export type TermId =
  | 'setup_per_transfer'
  | 'gap_per_packet'
  | 'outstanding_requests'
  | 'path.width'
  | 'path.clock'
  | 'path.time_per_transfer'
  | 'path.transfer_interval';

interface Term {
  readonly unit: string;
  /** Name of the model's parameter; none where it is no parameter of a network. */
  readonly parameter?: string;
  /** What stands for a device without the term. */
  readonly neutral: number;
}

export const terms: Readonly<Record<TermId, Term>> = {
  setup_per_transfer: { unit: 'ns', parameter: 'setup_per_transfer', neutral: 0 },
  gap_per_packet: { unit: 'ns', parameter: 'gap_per_packet', neutral: 0 },
  // Extended tags are off in the set: no more than 32 by the standard.
  outstanding_requests: { unit: '', parameter: 'outstanding_requests', neutral: 32 },
  'path.width': { unit: 'B', neutral: 4096 },
  'path.clock': { unit: 'MHz', parameter: 'path_clock', neutral: 1e6 },
  'path.time_per_transfer': { unit: 'ns', parameter: 'path_time', neutral: 0 },
  'path.transfer_interval': { unit: 'ns', parameter: 'transfer_interval', neutral: 0 },
};

const termIds = Object.keys(terms) as TermId[];

/** Value of a term, its neutral one where the device does not have it. */
export function termOf(device: Device, id: TermId): number {
  return device[id] ?? terms[id].neutral;
}

/** The text of a case with the device's terms and the host's read latency stated as overrides. */
export function withDevice(text: string, kind: Kind, host: Host, device: Device): string {
  return withDma(text, host, dmaText(kind, device));
}

/** The text of a case with an engine, in the flow style of YAML, and the host's read latency. */
export function withDma(text: string, host: Host, dma: string): string {
  const pcie = `{pcie: {read_latency: ${readLatency[host]} ns}}`;
  return overridden(overridden(text, 'module', `{dma: {${dma}}}`), 'host', pcie);
}

/** Keys of `dma` that state a device. */
function dmaText(kind: Kind, device: Device): string {
  const own = termIds.filter((id) => !id.startsWith('path.')).map((id) => termText(id, device));
  return `${own.join(', ')}, ${pathText(kind, device)}`;
}

/** `write_path: {...}` or `read_path: {...}`. */
export function pathText(kind: Kind, device: Device): string {
  const own = termIds.filter((id) => id.startsWith('path.'));
  return `${kind}_path: {${own.map((id) => termText(id, device)).join(', ')}}`;
}

function termText(id: TermId, device: Device): string {
  return `${id.replace('path.', '')}: ${valueText(id, termOf(device, id))}`;
}

/** `53.4 MHz`. */
export function valueText(id: TermId, value: number): string {
  const { unit } = terms[id];
  return unit === '' ? String(value) : `${value} ${unit}`;
}

/** `module: name` with an override; @throws Error when the part is not named on a line of its own */
function overridden(text: string, role: 'module' | 'host', override: string): string {
  const line = new RegExp(`^${role}: ([a-z0-9-]+)$`, 'm');
  if (!line.test(text)) throw new Error(`expected a line '${role}: <part>'`);
  return text.replace(line, `${role}: {part: $1, override: ${override}}`);
}

interface Ready {
  readonly network: Network;
  readonly indexes: ReadonlyMap<TermId, number>;
  readonly expected: readonly number[];
}

const ready = new Map<string, Ready>();

/** The network of a point, built once for each width: the other terms are numbers of a corner. */
function networkOf(point: NicPoint, width: number): Ready {
  const key = `${point.kind} ${point.host} ${point.bytes} ${width}`;
  const known = ready.get(key);
  if (known) return known;
  const { source, library } = point.row;
  const text = withDevice(source.text, point.kind, point.host, { 'path.width': width });
  const read = readCase({ ...source, text }, library);
  if (!read.ok) throw new Error(`${source.file}: ${JSON.stringify(read.problems[0])}`);
  const { network } = buildNetwork(read.value);
  const indexes = new Map<TermId, number>();
  for (const id of termIds) {
    const index = indexOf(network, point.kind, id);
    if (index !== undefined) indexes.set(id, index);
  }
  const made = { network, indexes, expected: network.parameters.expected() };
  ready.set(key, made);
  return made;
}

/** Place of a term among the network's parameters; undefined for a width, which is none of them. */
function indexOf(network: Network, kind: Kind, id: TermId): number | undefined {
  const { parameter } = terms[id];
  if (parameter === undefined) return undefined;
  // Each direction has a path of its own, and with it an interval of its own.
  const end = id.startsWith('path.') ? ` ${kind}s.${parameter}` : `.${parameter}`;
  const found = network.parameters.entries.flatMap((e, i) => (e.id.endsWith(end) ? [i] : []));
  if (found.length !== 1)
    throw new Error(`${found.length} parameters of the model end in '${end}'`);
  return found[0];
}

/** Expected rate of the model with a device, bytes per second. */
export function rateOf(point: NicPoint, device: Device): number {
  const { network, indexes, expected } = networkOf(point, termOf(device, 'path.width'));
  const tick = toNumber(network.hops[0]!.tick);
  const inModel: Readonly<Record<string, (value: number) => number>> = {
    ns: (value) => Math.ceil((value * 1e-9) / tick),
    MHz: (value) => Math.max(1, Math.floor(value * 1e6)),
    '': (value) => value,
  };
  const corner = [...expected];
  for (const [id, index] of indexes) corner[index] = inModel[terms[id].unit]!(termOf(device, id));
  return toNumber(bytesPerSecond(evaluate(network, corner))[0]!);
}
