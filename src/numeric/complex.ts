/** Small complex matrices, as pairs of real ones; linear systems by the matrix library. */
import { Matrix, solve } from 'ml-matrix';

/** Rows by columns, real and imaginary parts apart. */
export interface ComplexMatrix {
  readonly real: Matrix;
  readonly imaginary: Matrix;
}

export function complexMatrix(real: Matrix, imaginary = Matrix.zeros(real.rows, real.columns)) {
  return { real, imaginary };
}

export function complexProduct(a: ComplexMatrix, b: ComplexMatrix): ComplexMatrix {
  return {
    real: Matrix.sub(a.real.mmul(b.real), a.imaginary.mmul(b.imaginary)),
    imaginary: Matrix.add(a.real.mmul(b.imaginary), a.imaginary.mmul(b.real)),
  };
}

export function complexSum(a: ComplexMatrix, b: ComplexMatrix, sign: 1 | -1 = 1): ComplexMatrix {
  return {
    real: Matrix.add(a.real, Matrix.mul(b.real, sign)),
    imaginary: Matrix.add(a.imaginary, Matrix.mul(b.imaginary, sign)),
  };
}

/**
 * X of A X = B, through the real system of twice the size.
 * @throws Error of the library when A is singular
 */
export function complexSolve(a: ComplexMatrix, b: ComplexMatrix): ComplexMatrix {
  const n = a.real.rows;
  const m = b.real.columns;
  const system = Matrix.zeros(2 * n, 2 * n);
  system.setSubMatrix(a.real, 0, 0).setSubMatrix(Matrix.mul(a.imaginary, -1), 0, n);
  system.setSubMatrix(a.imaginary, n, 0).setSubMatrix(a.real, n, n);
  const right = Matrix.zeros(2 * n, m);
  right.setSubMatrix(b.real, 0, 0).setSubMatrix(b.imaginary, n, 0);
  const x = solve(system, right);
  return {
    real: x.subMatrix(0, n - 1, 0, m - 1),
    imaginary: x.subMatrix(n, 2 * n - 1, 0, m - 1),
  };
}
