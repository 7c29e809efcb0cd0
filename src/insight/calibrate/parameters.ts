/**
 * The parameters that measured transfers can tell of a device and its host: what each is, the key of a
 * part it lands in, the range it can physically have, and how the time of a transfer hangs on it.
 */
import { type DefaultId, defaultRows } from '../../standards/defaults.ts';

/** Every parameter, in the order of report. Keys are those of the part files, below `dma` or `pcie`. */
export const calibrationKeys = [
  'setup_per_transfer',
  'gap_per_packet',
  'write_path.width',
  'write_path.clock',
  'write_path.time_per_transfer',
  'write_path.transfer_interval',
  'read_path.width',
  'read_path.clock',
  'read_path.time_per_transfer',
  'read_path.transfer_interval',
  'outstanding_requests',
  'request_size',
  'read_latency',
  'credit_return',
  'translation.miss',
] as const;
export type CalibrationKey = (typeof calibrationKeys)[number];

/** Seconds, hertz, bytes or a count, as the unit of the parameter says; absent where not fitted. */
export type Values = Readonly<Partial<Record<CalibrationKey, number>>>;

export type Kind = 'write' | 'read';

export interface CalibrationParameter {
  readonly key: CalibrationKey;
  readonly title: string;
  readonly unit: 's' | 'Hz' | 'B' | '';
  /** Whose value it is, and the path of its key in that part. */
  readonly part: 'module' | 'host';
  readonly path: readonly string[];
  /** Directions of transfer that it acts on. */
  readonly kinds: readonly Kind[];
  /** Values to try one by one; the others move freely between low and high. */
  readonly choices?: readonly number[];
  /** The time of a transfer is straight in the value, or in its reciprocal. */
  readonly form: 'linear' | 'reciprocal';
  /** Whole values only. */
  readonly whole?: true;
  readonly low: number;
  readonly high: number;
  /** Identifier of the network's parameter; its owner depends on the case. */
  readonly entry: DefaultId;
  /** Why the range is what it is. */
  readonly why: string;
}

const both: readonly Kind[] = ['write', 'read'];

const time = {
  unit: 's',
  form: 'linear',
  low: 0,
} as const;

function pathOf(kind: Kind): CalibrationParameter[] {
  const key = `${kind}_path` as const;
  const side = { part: 'module', kinds: [kind] } as const;
  return [
    {
      ...side,
      key: `${key}.width`,
      title: `width of a step of the engine's path for ${kind}s`,
      unit: 'B',
      path: ['dma', key, 'width'],
      choices: [8, 16, 32, 64, 128, 256],
      form: 'linear',
      low: 8,
      high: 256,
      entry: 'path_clock',
      why: 'data paths of 64 to 2048 bits; common practice, no source',
    },
    {
      ...side,
      key: `${key}.clock`,
      title: `steps a second of the engine's path for ${kind}s`,
      unit: 'Hz',
      path: ['dma', key, 'clock'],
      form: 'reciprocal',
      low: 1e6,
      high: 1e9,
      entry: 'path_clock',
      why: 'user clocks, or less where a step takes several; common practice, no source',
    },
    {
      ...side,
      ...time,
      key: `${key}.time_per_transfer`,
      title: `time each transfer holds the engine's path for ${kind}s`,
      path: ['dma', key, 'time_per_transfer'],
      high: 10e-6,
      entry: 'path_time',
      why: 'no longer than the shortest transfer measured',
    },
    {
      ...side,
      ...time,
      key: `${key}.transfer_interval`,
      title: `least time between the starts of two ${kind}s`,
      path: ['dma', key, 'transfer_interval'],
      high: 10e-6,
      entry: 'transfer_interval',
      why: 'no longer than the shortest transfer measured',
    },
  ];
}

const latency = defaultRows.read_latency.range();

/** The table, in the order of `calibrationKeys`. */
export const calibrationParameters: readonly CalibrationParameter[] = [
  {
    ...time,
    key: 'setup_per_transfer',
    title: 'set-up per transfer',
    part: 'module',
    path: ['dma', 'setup_per_transfer'],
    kinds: both,
    high: 100e-6,
    entry: 'setup_per_transfer',
    why: 'no longer than the shortest transfer measured',
  },
  {
    ...time,
    key: 'gap_per_packet',
    title: 'pause after each packet',
    part: 'module',
    path: ['dma', 'gap_per_packet'],
    kinds: both,
    high: 10e-6,
    entry: 'gap_per_packet',
    why: 'no longer than the shortest transfer measured',
  },
  ...pathOf('write'),
  ...pathOf('read'),
  {
    key: 'outstanding_requests',
    title: 'reads in flight',
    unit: '',
    part: 'module',
    path: ['dma', 'outstanding_requests'],
    kinds: ['read'],
    form: 'reciprocal',
    whole: true,
    low: 1,
    high: 256,
    entry: 'outstanding_requests',
    why: 'tags of the requester: 32 with 5 bits, more only where the part says so',
  },
  {
    key: 'request_size',
    title: 'read request size',
    unit: 'B',
    part: 'module',
    path: ['dma', 'request_size'],
    kinds: ['read'],
    choices: [64, 128, 256, 512],
    form: 'linear',
    low: 64,
    high: 512,
    entry: 'request_size',
    why: 'at most Max_Read_Request_Size',
  },
  {
    ...time,
    key: 'read_latency',
    title: 'read latency of the host',
    part: 'host',
    path: ['pcie', 'read_latency'],
    kinds: ['read'],
    low: latency.low / 1e12,
    high: latency.high / 1e12,
    entry: 'read_latency',
    why: 'the range of the default: beside an unknown number of reads in flight a rate tells no latency',
  },
  {
    ...time,
    key: 'credit_return',
    title: 'credit return time of the host',
    part: 'host',
    path: ['pcie', 'credit_return'],
    kinds: ['write'],
    high: 20e-6,
    entry: 'credit_return',
    why: 'credits that come back later would stop any link; beside given or default credits',
  },
  {
    ...time,
    key: 'translation.miss',
    title: 'time of a translation miss',
    part: 'host',
    path: ['translation', 'miss'],
    kinds: both,
    high: 5e-6,
    entry: 'translation_miss',
    why: 'a page walk of some memory accesses',
  },
];

const byKey = new Map(calibrationParameters.map((p) => [p.key, p]));

/** The row of a key. */
export function parameterOf(key: CalibrationKey): CalibrationParameter {
  return byKey.get(key)!;
}

/** Digits that a fitted value is kept with: finer ones are below any scatter. */
const digits = 5;

/** The value as a part states it: five digits, whole where it must be. */
export function rounded(key: CalibrationKey, value: number): number {
  const { whole, choices } = parameterOf(key);
  if (choices) return value;
  return whole ? Math.round(value) : Number(value.toPrecision(digits));
}

/** Scale and unit to state a value in. */
function scaleOf(unit: CalibrationParameter['unit']): { factor: number; word: string } {
  if (unit === 's') return { factor: 1e9, word: ' ns' };
  if (unit === 'Hz') return { factor: 1e-6, word: ' MHz' };
  return { factor: 1, word: unit === '' ? '' : ` ${unit}` };
}

/** `4.8123 ns`, `54.5 MHz`, `28`: exact for the reader of a part. */
export function valueText(key: CalibrationKey, value: number): string {
  return rangeText(key, [value]);
}

/** `4.7..4.8..4.9 ns`; one value where all are the same to the digits kept. */
export function rangeText(key: CalibrationKey, values: readonly number[]): string {
  const { unit } = parameterOf(key);
  const { factor, word } = scaleOf(unit);
  const texts = values.map((v) => plainDecimal(Number((v * factor).toPrecision(digits))));
  const one = texts.every((t) => t === texts[0]);
  return (one ? texts[0]! : texts.join('..')) + word;
}

/** A number without an exponent. */
function plainDecimal(value: number): string {
  const text = String(value);
  return /e/.test(text) ? value.toFixed(20).replace(/\.?0+$/, '') : text;
}
