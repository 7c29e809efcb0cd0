/**
 * Explanations: nested sets of parameters, each of which alone could make transfers as slow as measured.
 * What is not in one stands at its neutral value: no pause, every tag in use, defaults of the host.
 */
import { bytes, toNumber } from '../../quantity/index.ts';
import type { Case } from '../../system/case.ts';
import type { GivenQuantity } from '../../system/given.ts';
import { type PointSpec, pointNetwork } from '../point-model.ts';
import { indexOf, tickOf } from './compiled.ts';
import {
  type CalibrationKey,
  calibrationKeys,
  type Kind,
  parameterOf,
  type Values,
} from './parameters.ts';

export interface Explanation {
  readonly name: string;
  readonly keys: readonly CalibrationKey[];
}

/** What a case says of a parameter. */
export function givenOf(c: Case, key: CalibrationKey): GivenQuantity | undefined {
  const dma = c.module.dma;
  switch (key) {
    case 'setup_per_transfer':
    case 'gap_per_packet':
    case 'outstanding_requests':
    case 'request_size':
      return dma?.[key];
    case 'write_path.width':
    case 'write_path.clock':
    case 'write_path.time_per_transfer':
    case 'write_path.transfer_interval':
      return dma?.write_path?.[key.slice(11) as 'width'];
    case 'read_path.width':
    case 'read_path.clock':
    case 'read_path.time_per_transfer':
    case 'read_path.transfer_interval':
      return dma?.read_path?.[key.slice(10) as 'width'];
    case 'read_latency':
    case 'credit_return':
      return c.host?.pcie[key];
    case 'translation.miss':
      return c.host?.translation?.miss;
  }
}

/** Bases that settle a value: it is then no unknown of the case. */
const settling: readonly string[] = ['standard', 'measured'];

/**
 * Counts and sizes of a data sheet are taken at their word. Its times and clocks are claims: where they
 * stand unless an explanation asks for another value.
 */
function settles(key: CalibrationKey, { basis }: GivenQuantity): boolean {
  const { unit } = parameterOf(key);
  return settling.includes(basis) || (basis === 'datasheet' && (unit === '' || unit === 'B'));
}

/** A time or clock that a data sheet states. */
export function claimedValue(c: Case, key: CalibrationKey): number | undefined {
  const given = givenOf(c, key);
  return given?.basis === 'datasheet' ? inBase(given, 'expected') : undefined;
}

/** Base units: seconds, hertz, bytes, a count. */
function inBase({ value }: GivenQuantity, end: 'low' | 'expected' | 'high'): number {
  const number = toNumber(value[end]);
  return value.dimension === 'size' ? number / 8 : number;
}

/** A value that the case knows: one value, from a text or a measurement. */
export function knownValue(c: Case, key: CalibrationKey): number | undefined {
  const given = givenOf(c, key);
  if (!given || !settles(key, given)) return undefined;
  const [low, high] = [inBase(given, 'low'), inBase(given, 'high')];
  return low === high ? low : undefined;
}

/** Range of a parameter in this case: that of a text where it gives one, else the physical one. */
export function boundsOf(c: Case, key: CalibrationKey): { low: number; high: number } {
  const { low, high, choices } = parameterOf(key);
  const given = givenOf(c, key);
  if (given && settles(key, given) && !choices) {
    const [least, most] = [inBase(given, 'low'), inBase(given, 'high')];
    if (least < most) return { low: Math.max(low, least), high: Math.min(high, most) };
  }
  if (key === 'outstanding_requests') return { low, high: tagsOf(c) };
  return { low, high };
}

/** Tags of the requester: five bits unless the part says more. */
function tagsOf(c: Case): number {
  return c.module.pcie?.tags?.value ?? 32;
}

/** Values to try of a parameter that does not move freely. */
export function choicesOf(c: Case, key: CalibrationKey): readonly number[] {
  const { choices = [] } = parameterOf(key);
  if (key !== 'request_size') return choices;
  const limit = c.settings.Max_Read_Request_Size;
  return limit ? choices.filter((v) => v <= bytes(limit.value)) : choices;
}

/** Values that stand for a part without the effect; of the host, what the case or default expects. */
export function neutralValues(c: Case, point: PointSpec): Values {
  const network = pointNetwork(c, {}, point);
  const expected = (key: CalibrationKey) => {
    const at = indexOf(network, key);
    return at < 0
      ? undefined
      : network.parameters.entries[at]!.range.expected * tickOf(network, key);
  };
  const found: Partial<Record<CalibrationKey, number>> = {};
  for (const key of calibrationKeys) {
    const known = knownValue(c, key) ?? claimedValue(c, key);
    if (known !== undefined) found[key] = known;
    else if (key === 'outstanding_requests') found[key] = boundsOf(c, key).high;
    else if (parameterOf(key).part === 'host') {
      const value = c.host ? expected(key) : undefined;
      if (value !== undefined) found[key] = Number(value.toPrecision(5));
    } else if (key === 'setup_per_transfer' || key === 'gap_per_packet') found[key] = 0;
  }
  return found;
}

const pathKeys = (kind: Kind) => [`${kind}_path.width`, `${kind}_path.clock`] as const;

/** Sets of terms by name, in order from few to many. */
function tableOf(kind: Kind): readonly (readonly [string, readonly CalibrationKey[]])[] {
  const path = pathKeys(kind);
  const hold = `${kind}_path.time_per_transfer` as const;
  const apart = `${kind}_path.transfer_interval` as const;
  const setup = 'setup_per_transfer';
  const gap = 'gap_per_packet';
  const shared = [
    ['link', []],
    ['set-up', [setup]],
    ['pause per packet', [gap]],
    ['set-up and pause per packet', [setup, gap]],
    ['data path', path],
    ['data path and hold', [...path, hold]],
    ['data path and interval', [...path, apart]],
    ['data path and set-up', [...path, setup]],
    ['data path, interval and set-up', [...path, apart, setup]],
    ['translation', ['translation.miss']],
    ['translation and set-up', ['translation.miss', setup]],
  ] as const;
  if (kind === 'write') {
    return [
      ...shared,
      ['credits', ['credit_return']],
      ['credits and set-up', ['credit_return', setup]],
    ];
  }
  const flight = ['outstanding_requests', 'read_latency'] as const;
  return [
    ...shared,
    ['reads in flight', flight],
    ['reads in flight and request size', [...flight, 'request_size']],
    ['reads in flight and set-up', [...flight, setup]],
    ['reads in flight and data path', [...flight, ...path]],
    ['reads in flight, data path and hold', [...flight, ...path, hold]],
  ];
}

/**
 * The explanations of transfers of one kind that this case leaves open: keys that the case knows are
 * not free, and what it has no place for is left out.
 */
export function explanationsOf(c: Case, kind: Kind): Explanation[] {
  const seen = new Set<string>();
  return tableOf(kind).flatMap(([name, keys]) => {
    if (keys.includes('translation.miss') && !(c.host?.translation && c.settings.working_set)) {
      return [];
    }
    const free = keys.filter((key) => knownValue(c, key) === undefined && hasPlace(c, key));
    // With all of its keys known the explanation says nothing new; the link alone stands for it.
    const key = [...free].sort().join();
    if (seen.has(key)) return [];
    seen.add(key);
    return [{ name: `${kind}s: ${name}`, keys: free }];
  });
}

function hasPlace(c: Case, key: CalibrationKey): boolean {
  return parameterOf(key).part === 'module' || c.host !== undefined;
}
