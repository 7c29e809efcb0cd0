/**
 * Reads and writes of the network card in turn: measured, and predicted from the parameters fitted on
 * reads alone and writes alone, as two streams of equal sizes and rates. The set-up is the engine's, so
 * the reads have that of the writes as well.
 */
import { toNumber } from '../../src/quantity/index.ts';
import { buildNetwork } from '../../src/system/build.ts';
import { evaluate } from '../../src/system/evaluate.ts';
import { bytesPerSecond } from '../../src/system/rate.ts';
import { readCase } from '../../src/system/read/index.ts';
import {
  type Device,
  type Host,
  hosts,
  type NicPoint,
  pathText,
  termOf,
  valueText,
  withDma,
} from './nic.ts';
import { points } from './nic-fit.ts';

/**
 * Gb/s by size and host: open data set with Neugebauer et al., SIGCOMM 2018, commit b2abf2f, reads and
 * writes in turn, random order, 8 KB window, warm cache.
 */
const table: readonly (readonly [number, number, number, number])[] = [
  [16, 5.809, 5.782, 5.792],
  [32, 11.615, 11.549, 11.563],
  [64, 23.046, 22.91, 22.95],
  [65, 20.82, 20.822, 20.984],
  [128, 33.879, 33.723, 33.823],
  [129, 27.149, 27.152, 27.147],
  [192, 36.752, 36.576, 36.662],
  [256, 42.049, 42.069, 42.078],
  [257, 35.723, 35.536, 36.219],
  [512, 42.676, 42.669, 42.672],
  [513, 38.583, 38.54, 39.746],
  [1024, 43.842, 43.834, 43.841],
  [1025, 42.507, 42.399, 42.978],
  [1536, 48.009, 47.892, 47.813],
  [2048, 48.959, 49.131, 49.169],
];

/** Measured rates of one direction on a host, bytes per second, by rising size. */
export function mixedRates(host: Host): { readonly bytes: number; readonly rate: number }[] {
  return table.map(([bytes, ...rates]) => ({ bytes, rate: (rates[host - 1]! * 1e9) / 8 }));
}

/** Rates of one direction, bytes per second. */
export interface MixedPoint {
  readonly host: Host;
  readonly bytes: number;
  readonly measured: number;
  readonly predicted: number;
}

/** All 45 points, each predicted with no value fitted on any of them. */
export function mixedPoints(write: Device, read: Device): MixedPoint[] {
  return table.flatMap(([bytes, ...rates]) =>
    hosts.map((host): MixedPoint => {
      const point = points.find((p) => p.kind === 'write' && p.host === host && p.bytes === bytes)!;
      const measured = (rates[host - 1]! * 1e9) / 8;
      return { host, bytes, measured, predicted: predicted(point, write, read) };
    }),
  );
}

function predicted(point: NicPoint, write: Device, read: Device): number {
  const { source, library } = point.row;
  const own = (['setup_per_transfer', 'gap_per_packet'] as const).map(
    (id) => `${id}: ${valueText(id, termOf(write, id))}`,
  );
  const reads = `outstanding_requests: ${termOf(read, 'outstanding_requests')}`;
  const dma = [...own, reads, pathText('write', write), pathText('read', read)].join(', ');
  const rate = `${(point.measured * 8) / 1e9} Gb/s`;
  const second = `  - name: read
    direction: from host
    rate: ${rate}
    transfer: { size: ${point.bytes} B }
`;
  const text = `${withDma(source.text, point.host, dma).trimEnd()}\n${second}`;
  const found = readCase({ ...source, text }, library);
  if (!found.ok) throw new Error(`${source.file}: ${JSON.stringify(found.problems[0])}`);
  const { network } = buildNetwork(found.value);
  const rates = bytesPerSecond(evaluate(network, network.parameters.expected())).map(toNumber);
  return Math.min(...rates);
}
