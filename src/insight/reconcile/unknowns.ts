/** Parameters of a point's network as unknowns in units of people: seconds, bytes, counts. */
import { formatSize, formatTime, mul, rational, toNumber } from '../../quantity/index.ts';
import { type DefaultId, type DefaultRow, defaultRows } from '../../standards/defaults.ts';
import { payloadSizes } from '../../standards/pcie-link.ts';
import { evaluate } from '../../system/evaluate.ts';
import type { Network } from '../../system/network.ts';
import type { ParameterEntry } from '../../system/parameters.ts';

/** A parameter that may have another value than the one expected. */
export interface Unknown {
  /** `tern-256.gap_per_packet`: the same in every network of one case. */
  readonly id: string;
  /** Row of the table of defaults. */
  readonly row: DefaultId;
  readonly index: number;
  readonly entry: ParameterEntry;
  readonly unit: DefaultRow['unit'];
  /** Least and greatest value that means anything, in the model's unit. */
  readonly least: number;
  readonly most: number;
  /** The only values there are, where they are few. */
  readonly values?: readonly number[];
  /** Seconds, bytes or the parameter's unit for one of the model's. */
  readonly scale: number;
}

/** A second at the finest tick; no pause, latency or interval is longer. */
const TICKS_MOST = 2 ** 40;
/** More requests, credits or steps than any device has. */
const COUNT_MOST = 65_536;

/** What a point fixes, and sizes that no transfer chooses: none of these explains a rate. */
const fixedRows: ReadonlySet<string> = new Set([
  'transfer_size',
  'transfers_per_interrupt',
  'bit_error_ratio',
]);

const known = new WeakMap<Network, readonly Unknown[]>();

/** Unknowns of a network, in the order of its parameters. */
export function unknownsOf(network: Network): readonly Unknown[] {
  let found = known.get(network);
  if (found === undefined) {
    found = findUnknowns(network);
    known.set(network, found);
  }
  return found;
}

function findUnknowns(network: Network): Unknown[] {
  // Without chunks a transfer is one: a pause after it is a set-up by another name.
  const chunks = network.streams[0]?.flow(network.parameters.expected()).chunkBytes;
  return network.parameters.entries.flatMap((entry, index) => {
    const row = entry.id.slice(entry.id.lastIndexOf('.') + 1);
    if (!isRow(row) || fixedRows.has(row)) return [];
    if (row === 'gap_per_chunk' && chunks === undefined) return [];
    const { unit }: DefaultRow = defaultRows[row];
    const bounds = row === 'request_size' ? requestSizes(entry) : boundsOf(entry, unit);
    if (bounds === undefined) return [];
    const scale = entry.tick ? toNumber(entry.tick) : 1;
    const least = unit === 'count' ? leastThatWorks(network, index, bounds.least) : bounds.least;
    return [{ id: entry.id, row, index, entry, unit, scale, ...bounds, least }];
  });
}

/** Read requests have legal sizes, and any of them may have been set: a default is no statement. */
function requestSizes({ range }: ParameterEntry) {
  const values = [...new Set([64, ...payloadSizes, range.expected])].sort((a, b) => a - b);
  return { least: values[0]!, most: values.at(-1)!, values };
}

/** The smallest count that the model takes: data credits below one packet stop the stream for good. */
function leastThatWorks(network: Network, index: number, least: number): number {
  const works = (value: number): boolean => {
    const corner = network.parameters.expected();
    corner[index] = value;
    try {
      evaluate(network, corner);
      return true;
    } catch (error) {
      if (error instanceof RangeError) return false;
      throw error;
    }
  };
  if (works(least)) return least;
  let low = least;
  let high = network.parameters.entries[index]!.range.expected;
  while (low + 1 < high) {
    const middle = Math.floor((low + high) / 2);
    if (works(middle)) high = middle;
    else low = middle;
  }
  return high;
}

function isRow(id: string): id is DefaultId {
  return Object.hasOwn(defaultRows, id);
}

function boundsOf(entry: ParameterEntry, unit: DefaultRow['unit']) {
  const { low, high } = entry.range;
  if (unit === '0 or 1') return { least: 0, most: 1, values: [0, 1] };
  if (entry.legal)
    return entry.legal.length > 1 ? { least: low, most: high, values: entry.legal } : undefined;
  if (unit === 'ps') return entry.tick ? { least: 0, most: TICKS_MOST } : undefined;
  // A count of none stops the stream for good, except where it counts what is added.
  if (unit === 'count') return { least: Math.min(low, 1), most: Math.max(high, COUNT_MOST) };
  if (unit === 'per second') return { least: 1, most: TICKS_MOST };
  if (unit === 'bytes' && entry.effect !== 'depends') return { least: 1, most: TICKS_MOST };
  return low < high ? { least: low, most: high } : undefined;
}

/**
 * A value in units of people as one of the model: what another network allows may be beyond the bounds
 * of this one, such as credits for packets of another size.
 */
export function modelValue({ least, most, scale }: Unknown, value: number): number {
  return Math.min(most, Math.max(least, Math.round(value / scale)));
}

/** A value of the model in words. */
export function valueText({ unit, entry }: Unknown, value: number): string {
  if (entry.tick) return formatTime(toNumber(mul(entry.tick, rational(value))));
  if (unit === 'bytes') return formatSize(value);
  if (unit === '0 or 1') return value === 1 ? 'yes' : 'no';
  return unit === 'count' ? String(value) : `${value} ${unit}`;
}

/** True where the case, part or default allows the value. */
export function isInRange({ entry }: Unknown, value: number): boolean {
  return value >= entry.range.low && value <= entry.range.high;
}
