/**
 * Scattering parameters of a channel at one frequency: interpolated, from other parameters, to other
 * reference resistances, and of pairs instead of single lines.
 */
import { Matrix } from 'ml-matrix';
import {
  type ComplexMatrix,
  complexMatrix,
  complexProduct,
  complexSolve,
  complexSum,
} from '../../numeric/complex.ts';
import type { NetworkData } from '../../readers/touchstone/index.ts';

/** A network at one frequency. */
export interface NetworkPoint {
  readonly matrix: ComplexMatrix;
  /** Ohms, one a port. */
  readonly reference: readonly number[];
}

const identity = (n: number) => complexMatrix(Matrix.eye(n, n));

/**
 * The matrix at a frequency, real and imaginary parts each on a straight line between neighbours.
 * @throws RangeError outside the frequencies of the file: nothing is extrapolated
 */
export function matrixAt(data: NetworkData, frequency: number): ComplexMatrix {
  const { frequencies, ports, real, imaginary } = data;
  const last = frequencies.length - 1;
  if (!(frequency >= frequencies[0]! && frequency <= frequencies[last]!)) {
    throw new RangeError(
      `${data.file}: ${frequency} Hz lies outside ${frequencies[0]} to ${frequencies[last]} Hz`,
    );
  }
  let above = 0;
  while (frequencies[above]! < frequency) above += 1;
  const below = frequencies[above] === frequency ? above : above - 1;
  const span = frequencies[above]! - frequencies[below]!;
  const part = span === 0 ? 0 : (frequency - frequencies[below]!) / span;
  const size = ports * ports;
  const at = (values: Float64Array) =>
    new Matrix(ports, ports).apply(function (this: Matrix, i, j) {
      const k = i * ports + j;
      const a = values[below * size + k]!;
      this.set(i, j, a + part * (values[above * size + k]! - a));
    });
  return { real: at(real), imaginary: at(imaginary) };
}

/**
 * Scattering parameters at a frequency, at the file's reference.
 * @throws RangeError outside the file's frequencies, or for H and G parameters, which this does not know
 */
export function scatteringAt(data: NetworkData, frequency: number): NetworkPoint {
  const { reference, parameter, ports } = data;
  const given = matrixAt(data, frequency);
  if (parameter === 'S') return { matrix: given, reference };
  if (parameter !== 'Z' && parameter !== 'Y') {
    throw new RangeError(`${data.file}: expected S, Y or Z parameters; got ${parameter}`);
  }
  // Version 1 normalises Z and Y to the reference; version 2 does not.
  const normal = data.version === '1' ? given : normalised(given, reference, parameter);
  const one = identity(ports);
  // S = (z - 1)(z + 1)^-1, and S = (1 - y)(1 + y)^-1; both factors commute.
  const sign = parameter === 'Z' ? 1 : -1;
  const top = complexSum(normal, one, -1);
  const numerator = {
    real: Matrix.mul(top.real, sign),
    imaginary: Matrix.mul(top.imaginary, sign),
  };
  return { matrix: complexSolve(complexSum(normal, one), numerator), reference };
}

/** Z over, or Y times, the root of both ports' references. */
function normalised(
  { real, imaginary }: ComplexMatrix,
  reference: readonly number[],
  parameter: 'Z' | 'Y',
): ComplexMatrix {
  const scale = (m: Matrix) =>
    m.clone().apply(function (this: Matrix, i, j) {
      const root = Math.sqrt(reference[i]! * reference[j]!);
      this.set(i, j, parameter === 'Z' ? this.get(i, j) / root : this.get(i, j) * root);
    });
  return { real: scale(real), imaginary: scale(imaginary) };
}

/**
 * The same network seen from other reference resistances. With waves a, b = (v ± z i) / (2 sqrt z) of
 * K. Kurokawa (IEEE Transactions on Microwave Theory and Techniques 13, 1965) and r = (z' - z)/(z' + z),
 * the new waves are a' = k (a - r b) and b' = k (b - r a), k = 1/sqrt(1 - r^2); so, on diagonals,
 * S' = K (S - R)(1 - R S)^-1 K^-1.
 */
export function renormalised(point: NetworkPoint, reference: readonly number[]): NetworkPoint {
  const { matrix } = point;
  const r = reference.map((z, i) => (z - point.reference[i]!) / (z + point.reference[i]!));
  const k = r.map((x) => 1 / Math.sqrt(1 - x * x));
  const n = r.length;
  const diagonal = complexMatrix(Matrix.diag(r));
  const left = complexSum(matrix, diagonal, -1);
  const right = complexSum(identity(n), complexProduct(diagonal, matrix), -1);
  // X right = left, solved as right^T X^T = left^T.
  const turned = complexSolve(transposed(right), transposed(left));
  const inner = transposed(turned);
  const scaled = (m: Matrix) =>
    m.clone().apply(function (this: Matrix, i, j) {
      this.set(i, j, (this.get(i, j) * k[i]!) / k[j]!);
    });
  return {
    matrix: { real: scaled(inner.real), imaginary: scaled(inner.imaginary) },
    reference,
  };
}

const transposed = ({ real, imaginary }: ComplexMatrix): ComplexMatrix => ({
  real: real.transpose(),
  imaginary: imaginary.transpose(),
});

/** Ports of one pair: which carries the true and which the inverted signal; from 0. */
export interface PortPair {
  readonly positive: number;
  readonly negative: number;
}

/**
 * Differential scattering parameters of pairs of ports whose two references are alike: entry (i, j) is
 * from pair j to pair i. A pair's reference is twice a line's (D. E. Bockelman and W. R. Eisenstadt,
 * IEEE Transactions on Microwave Theory and Techniques 43, 1995).
 */
export function differential(point: NetworkPoint, pairs: readonly PortPair[]): ComplexMatrix {
  const of = (m: Matrix) =>
    new Matrix(pairs.length, pairs.length).apply(function (this: Matrix, i, j) {
      const [to, from] = [pairs[i]!, pairs[j]!];
      const straight = m.get(to.positive, from.positive) + m.get(to.negative, from.negative);
      const crossed = m.get(to.positive, from.negative) + m.get(to.negative, from.positive);
      this.set(i, j, (straight - crossed) / 2);
    });
  return { real: of(point.matrix.real), imaginary: of(point.matrix.imaginary) };
}
