/** Parameters of an explanation with their 90 % intervals, and what the data cannot tell apart. */
import { studentQuantile } from '../../numeric/student.ts';
import type { FittedExplanation } from './fit.ts';
import { deviationsOf, type KindKnowledge, type KnownExplanation } from './knowledge.ts';
import { type CalibrationKey, type Kind, parameterOf, rounded } from './parameters.ts';

export interface ParameterInterval {
  readonly key: CalibrationKey;
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** Whether the data tell it: its deviation is at most its value, or an eighth of its range. */
  readonly settled: boolean;
}

type Kinds = Readonly<Partial<Record<Kind, KindKnowledge>>>;

/** Degrees of freedom of the kinds of transfer that a parameter acts on. */
export function degreesFor(kinds: Kinds, key: CalibrationKey): number {
  const own = parameterOf(key).kinds.flatMap((kind) => kinds[kind]?.degrees ?? []);
  return own.length === 0 ? 1 : Math.max(...own);
}

/** Student's intervals, cut to the range; whole where the parameter is. */
export function intervalsOf(explanation: KnownExplanation, kinds: Kinds): ParameterInterval[] {
  const deviations = deviationsOf(explanation);
  return explanation.keys.map((key, j) => {
    const value = explanation.values[key]!;
    const range = explanation.ranges[key]!;
    const half = studentQuantile(0.9, degreesFor(kinds, key)) * deviations[j]!;
    const low = Math.max(range.low, value - half);
    const high = Math.min(range.high, value + half);
    const { whole } = parameterOf(key);
    const deviation = deviations[j]!;
    return {
      key,
      value,
      low: Math.min(value, whole ? Math.ceil(low) : rounded(key, low)),
      high: Math.max(value, whole ? Math.floor(high) : rounded(key, high)),
      settled: deviation <= Math.max(value, 0) && deviation <= (range.high - range.low) / 4,
    };
  });
}

/** Combinations of parameters that the data cannot tell, in words. */
export function unseparated(fitted: FittedExplanation): string[] {
  return fitted.directions
    .filter(({ settled }) => !settled)
    .map(({ parts }) => {
      const titles = parts.map(({ name }) => parameterOf(name as CalibrationKey).title);
      if (titles.length === 1) return `${titles[0]}: no measurement depends on it enough`;
      return `${titles.join(' and ')}: one may rise and the other fall without any measurement changing`;
    });
}
