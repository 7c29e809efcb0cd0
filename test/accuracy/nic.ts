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
  | 'transfer_interval'
  | 'setup_per_transfer'
  | 'gap_per_packet'
  | 'outstanding_requests'
  | 'path.width'
  | 'path.clock'
  | 'path.steps_per_transfer'
  | 'path.time_per_transfer';

interface Term {
  readonly unit: string;
  /** Name of the model's parameter; none where it is no parameter of a network. */
  readonly parameter?: string;
  /** What stands for a device without the term. */
  readonly neutral: number;
}

/** What `path.time_per_transfer` means is at `withPathTime`: the model has no such key yet. */
export const terms: Readonly<Record<TermId, Term>> = {
  transfer_interval: { unit: 'ns', parameter: 'transfer_interval', neutral: 0 },
  setup_per_transfer: { unit: 'ns', parameter: 'setup_per_transfer', neutral: 0 },
  gap_per_packet: { unit: 'ns', parameter: 'gap_per_packet', neutral: 0 },
  // Extended tags are off in the set: no more than 32 by the standard.
  outstanding_requests: { unit: '', parameter: 'outstanding_requests', neutral: 32 },
  'path.width': { unit: 'B', neutral: 4096 },
  'path.clock': { unit: 'MHz', parameter: 'path_clock', neutral: 1e6 },
  'path.steps_per_transfer': { unit: '', parameter: 'path_steps', neutral: 0 },
  'path.time_per_transfer': { unit: 'ns', neutral: 0 },
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

/** `write_path: {...}` or `read_path: {...}`; a time for each transfer has no key yet. */
export function pathText(kind: Kind, device: Device): string {
  const own = termIds.filter((id) => id.startsWith('path.') && id !== 'path.time_per_transfer');
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
  const { entries } = network.parameters;
  const indexes = new Map<TermId, number>();
  for (const [id, { parameter }] of Object.entries(terms)) {
    if (parameter === undefined) continue;
    const index = entries.findIndex((e) => e.id.endsWith(`.${parameter}`));
    if (index < 0) throw new Error(`the model has no parameter '${parameter}' any more`);
    indexes.set(id as TermId, index);
  }
  const made = { network, indexes, expected: network.parameters.expected() };
  ready.set(key, made);
  return made;
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
  const timed = withPathTime(network, termOf(device, 'path.time_per_transfer'));
  return toNumber(bytesPerSecond(evaluate(timed, corner))[0]!);
}

/**
 * The network with a term that the model lacks: a time, ns, for which each transfer holds the engine's
 * own path besides its steps. `steps_per_transfer` says it in whole steps. Streams whose path is given
 * by name keep to it; by default all do.
 */
export function withPathTime(network: Network, ns: number, paths = 'writes|reads'): Network {
  if (ns === 0) return network;
  const ticks = Math.ceil((ns * 1e-9) / toNumber(network.hops[0]!.tick));
  const time = BigInt(ticks) * network.hops[0]!.scale;
  const path = new RegExp(` (?:${paths})$`);
  const streams = network.streams.map((stream) => ({
    ...stream,
    limits: (corner: readonly number[]) =>
      stream.limits(corner).map((limit) => {
        if (!path.test(limit.key)) return limit;
        const { n, d } = limit.capacity;
        // Steps are counted in parts of d, of which a system tick then has n.
        const perTransfer = limit.perTransfer * d + time * n;
        return { ...limit, perTransfer, capacity: { n, d: 1n } };
      }),
  }));
  return { ...network, streams };
}
