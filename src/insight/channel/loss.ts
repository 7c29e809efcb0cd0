/** Insertion loss of a differential channel from its network parameters. */
import type { NetworkData } from '../../readers/touchstone/index.ts';
import { differential, type PortPair, renormalised, scatteringAt } from './network.ts';

/**
 * Ports 1 and 3 at the near end and 2 and 4 at the far one, or 1 and 2 near and 3 and 4 far; from
 * near to far. Files do not say which, so a case has to.
 */
export const portOrders = ['odd near', 'first near'] as const;
export type PortOrder = (typeof portOrders)[number];

const pairsOf: Readonly<Record<PortOrder, readonly [PortPair, PortPair]>> = {
  'odd near': [
    { positive: 0, negative: 2 },
    { positive: 1, negative: 3 },
  ],
  'first near': [
    { positive: 0, negative: 1 },
    { positive: 2, negative: 3 },
  ],
};

/** Decibels with two places: what a reader of a plot could tell. */
function decibels(real: number, imaginary: number): number {
  const power = real * real + imaginary * imaginary;
  return Math.round(-1000 * Math.log10(power)) / 100;
}

/**
 * Loss in decibels from the near to the far end: |Sdd21| of four ports at 50 ohms a line, or |S21| of
 * a file of two ports, which then are a pair each at its own reference.
 * @param frequency hertz
 * @throws RangeError outside the file's frequencies, or for another number of ports
 */
export function insertionLoss(
  data: NetworkData,
  frequency: number,
  order: PortOrder = 'odd near',
): number {
  const point = scatteringAt(data, frequency);
  if (data.ports === 2) {
    return decibels(point.matrix.real.get(1, 0), point.matrix.imaginary.get(1, 0));
  }
  if (data.ports !== 4) {
    throw new RangeError(`${data.file}: expected 2 or 4 ports; got ${data.ports}`);
  }
  if (data.mixedModes !== undefined) return mixedLoss(data, frequency);
  const { real, imaginary } = differential(renormalised(point, [50, 50, 50, 50]), pairsOf[order]);
  return decibels(real.get(1, 0), imaginary.get(1, 0));
}

/** A file that already holds pairs: the loss from its first to its second differential port. */
function mixedLoss(data: NetworkData, frequency: number): number {
  const modes = data.mixedModes!.map((name, index) => ({ name, index }));
  const [near, far] = modes.filter((m) => m.name.startsWith('D')).map((m) => m.index);
  if (near === undefined || far === undefined) {
    throw new RangeError(`${data.file}: expected two differential ports; got ${data.mixedModes}`);
  }
  const { matrix } = scatteringAt(data, frequency);
  return decibels(matrix.real.get(far, near), matrix.imaginary.get(far, near));
}

/**
 * Which port order a file has, told by which of both passes more at its lowest frequency; undefined
 * where they lie within 20 dB of each other.
 */
export function likelyOrder(data: NetworkData): PortOrder | undefined {
  if (data.ports !== 4) return undefined;
  const [odd, first] = portOrders.map((order) => insertionLoss(data, data.frequencies[0]!, order));
  if (first! - odd! >= 20) return 'odd near';
  return odd! - first! >= 20 ? 'first near' : undefined;
}
