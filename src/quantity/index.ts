/** Exact quantities: rationals, units, parsing and formatting. The public names, one by one. */
export { exactDigits, fromDecimal, isWhole, toDecimal, withPlaces } from './decimal.ts';
export { baseUnit, type Dimension, type DimensionRow, dimensions } from './dimension.ts';
export { fromNumber, toNumber } from './double.ts';
export {
  formatPercent,
  formatQuantity,
  formatRate,
  formatRatio,
  formatSize,
  formatTime,
} from './format.ts';
export { type Parsed, parseQuantity, quantity } from './parse.ts';
export { QuantityError, type QuantityProblem } from './problem.ts';
export {
  bytes,
  eachEnd,
  exactQuantity,
  inUnit,
  isExact,
  type Quantity,
  rangeQuantity,
  type ValueRange,
} from './quantity.ts';
export {
  abs,
  add,
  ceil,
  compare,
  div,
  equal,
  floor,
  max,
  min,
  mul,
  neg,
  one,
  type Rational,
  rational,
  roundHalfEven,
  sub,
  zero,
} from './rational.ts';
