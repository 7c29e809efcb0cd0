/** Non-linear least squares for models of few parameters. */
export { type Candidate, chooseModel, type FTest, type ModelChoice } from './choice.ts';
export type { Stop } from './descent.ts';
export { type Fit, leastSquares, type NoFit, type StartReport } from './fit.ts';
export type { Direction } from './precision.ts';
export { errorAfter, type Prediction, predict } from './predict.ts';
export type {
  FitOptions,
  FitParameter,
  LeastSquaresProblem,
  Loss,
  Model,
  Slopes,
} from './problem.ts';
