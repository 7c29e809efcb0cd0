/** Mean and half width of a confidence interval over independent replications. */
export interface Interval {
  readonly mean: number;
  readonly half: number;
}

/**
 * Two-sided quantiles of Student's t, as in any table: degrees of freedom and level.
 * NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, one-sided 0.95 and 0.9995.
 */
const student = { '9 at 90': 1.833, '15 at 99.9': 4.073 } as const;

/** The interval that `quantile` names; the sample must have one value more than its degrees. */
export function interval(sample: readonly number[], quantile: keyof typeof student): Interval {
  const n = sample.length;
  if (n !== Number.parseInt(quantile, 10) + 1) throw new Error(`${n} values for t of ${quantile}`);
  const mean = sample.reduce((a, b) => a + b, 0) / n;
  const variance = sample.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (n - 1);
  return { mean, half: student[quantile] * Math.sqrt(variance / n) };
}
