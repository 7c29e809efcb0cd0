/** Choice among models fitted to the same observations: how many parameters do the data support? */
import { incompleteBeta } from '../student.ts';
import type { Fit } from './fit.ts';
import { ln } from './ln.ts';

/** A fitted model, and the names of the models that it becomes when parameters are fixed. */
export interface Candidate {
  readonly name: string;
  readonly fit: Fit;
  readonly contains?: readonly string[];
}

/** F test of a model against one that it contains. */
export interface FTest {
  readonly smaller: string;
  readonly larger: string;
  readonly f: number;
  /** Chance of an f as large if the smaller model were true. */
  readonly p: number;
}

export interface ModelChoice {
  /**
   * The model with the fewest parameters among those whose AICc is within 2 of the least; absent
   * when no model leaves enough observations to be judged.
   */
  readonly chosen?: string;
  /** Other models within 2 of the least: the data do not decide against them. */
  readonly alsoSupported: readonly string[];
  /** All models, least AICc first, those that cannot be judged last. */
  readonly ranking: readonly {
    readonly name: string;
    readonly parameters: number;
    readonly aicc?: number;
    /** AICc above the least. */
    readonly difference?: number;
  }[];
  readonly tests: readonly FTest[];
}

/** K. P. Burnham and D. R. Anderson, Model Selection, 2nd ed., 2002, §2.6: "substantial" support. */
const supported = 2;

/** A cost below this part of the squares of the residuals' rounding is zero for a logarithm. */
const leastCost = 2 ** -1000;

function observations({ fit }: Candidate): number {
  return fit.degrees + fit.precision.rank;
}

/**
 * AICc for least squares, n ln(S/n) + 2K + 2K(K + 1)/(n − K − 1), K the parameters and the variance
 * (C. M. Hurvich and C.-L. Tsai, Biometrika 76, 1989; Burnham and Anderson, §2.4). Absent unless
 * n > K + 1.
 */
function aiccOf(candidate: Candidate): number | undefined {
  const n = observations(candidate);
  const k = candidate.fit.names.length + 1;
  if (n - k - 1 <= 0) return undefined;
  const cost = Math.max(candidate.fit.cost, leastCost);
  return n * ln(cost / n) + 2 * k + (2 * k * (k + 1)) / (n - k - 1);
}

/** F = (fall of the squares a parameter) / (squares a degree of freedom), p by DLMF 8.17. */
function test(smaller: Candidate, larger: Candidate): FTest[] {
  const more = smaller.fit.degrees - larger.fit.degrees;
  const left = larger.fit.degrees;
  if (more <= 0 || left <= 0) return [];
  const fall = Math.max(0, smaller.fit.cost - larger.fit.cost) / more;
  const rest = larger.fit.cost / left;
  const f = rest === 0 ? (fall === 0 ? 0 : Infinity) : fall / rest;
  const p = f === Infinity ? 0 : incompleteBeta(left / (left + more * f), left / 2, more / 2);
  return [{ smaller: smaller.name, larger: larger.name, f, p }];
}

function check(candidates: readonly Candidate[]): void {
  const names = candidates.map((c) => c.name);
  if (candidates.length === 0) throw new RangeError('a choice needs at least one model');
  if (new Set(names).size < names.length) throw new RangeError('model names differ');
  for (const candidate of candidates) {
    if (candidate.fit.loss.kind !== 'squares') {
      throw new RangeError(`${candidate.name}: models are compared by squares, not a robust loss`);
    }
    if (observations(candidate) !== observations(candidates[0]!)) {
      throw new RangeError(`${candidate.name}: models are compared on the same observations`);
    }
    for (const inner of candidate.contains ?? []) {
      if (!names.includes(inner)) throw new RangeError(`${candidate.name} contains no ${inner}`);
    }
  }
}

/**
 * Chooses among models by AICc, and tests each against those it contains.
 *
 * @param candidates fits by squares to the same observations with the same weights
 * @throws RangeError for a robust loss, or differing observations
 */
export function chooseModel(candidates: readonly Candidate[]): ModelChoice {
  check(candidates);
  const rows = candidates.map((candidate) => ({ candidate, aicc: aiccOf(candidate) }));
  rows.sort((a, b) => (a.aicc ?? Infinity) - (b.aicc ?? Infinity) || 0);
  const least = rows[0]!.aicc;
  const near = rows.filter(
    ({ aicc }) => aicc !== undefined && least !== undefined && aicc - least <= supported,
  );
  const chosen = near.reduce<(typeof near)[number] | undefined>(
    (best, row) =>
      best && best.candidate.fit.names.length <= row.candidate.fit.names.length ? best : row,
    undefined,
  );
  return {
    ...(chosen ? { chosen: chosen.candidate.name } : {}),
    alsoSupported: near.filter((row) => row !== chosen).map((row) => row.candidate.name),
    ranking: rows.map(({ candidate, aicc }) => ({
      name: candidate.name,
      parameters: candidate.fit.names.length,
      ...(aicc === undefined ? {} : { aicc, difference: aicc - least! }),
    })),
    tests: candidates.flatMap((larger) =>
      (larger.contains ?? []).flatMap((name) =>
        test(candidates.find((c) => c.name === name)!, larger),
      ),
    ),
  };
}
